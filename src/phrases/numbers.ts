// Spoken numbers, in both styles of the trade and of radiotelephony (ICAO Doc 9432: digits one at a time, "decimal").
import type { Clearance, ClearanceUnit } from '../trade/units.ts';
import { map, maybe, oneOf, type Phrase, say, sayAny, seq } from './grammar.ts';

const ONES =
  'zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen'.split(
    ' ',
  );
const TENS = '- - twenty thirty forty fifty sixty seventy eighty ninety'.split(' ');

/** 0…99 in words: "twenty five". */
export function cardinalWords(value: number): string {
  if (value < 20) return ONES[value]!;
  const ones = value % 10 === 0 ? '' : ` ${ONES[value % 10]}`;
  return `${TENS[Math.floor(value / 10)]}${ones}`;
}

/** A figure as it is said in its unit: "point two five", "ten thou", "seven and a half thou". */
export function figureWords({ value, unit }: Clearance): string {
  if (unit === 'thou') {
    const halves = Math.round(value * 2);
    return `${cardinalWords(Math.floor(halves / 2))}${halves % 2 === 0 ? '' : ' and a half'} thou`;
  }
  const hundredths = Math.round(value * 100);
  return `point ${cardinalWords(Math.floor(hundredths / 10))} ${cardinalWords(hundredths % 10)}`;
}

/** The whole numbers from one to another, as cardinals. */
export function cardinal(from: number, to: number): Phrase<number> {
  const values = Array.from({ length: to - from + 1 }, (_, k) => from + k);
  return oneOf(...values.map((value) => say(cardinalWords(value), value)));
}

const digit = (from: number, to: number): Phrase<number> =>
  oneOf(
    ...Array.from({ length: to - from + 1 }, (_, k) => say(ONES[from + k]!, from + k)),
    ...(to >= 9 ? [say('niner', 9)] : []),
  );

/** Two digits, one at a time, from 01 up to `to`: "one eight" is 18. */
function twoDigits(to: number): Phrase<number> {
  const tens = Array.from({ length: Math.floor(to / 10) + 1 }, (_, k) => k);
  return oneOf(
    ...tens.map((ten) =>
      seq(digit(ten, ten), digit(ten === 0 ? 1 : 0, Math.min(9, to - 10 * ten)), (a, b) => 10 * a + b),
    ),
  );
}

/** Hundredths of a millimetre up to `to`: "point one eight", "zero decimal one eight", "one eight", "eighteen hundredths". */
function millimetres(to: number): Phrase<number> {
  const point = oneOf(sayAny(['point', 'decimal'], null), sayAny(['zero point', 'zero decimal'], null));
  return oneOf(
    seq(maybe(point, null), twoDigits(to), (_, value) => value),
    seq(cardinal(1, to), say('hundredths', null), (value) => value),
  );
}

/** Thousandths of an inch up to `to`: "seven", "zero seven", "one two", "point zero one two", "seven and a half". */
function thousandths(to: number): Phrase<number> {
  return oneOf(
    cardinal(1, to),
    seq(cardinal(1, to), say('and a half', 0.5), (value, half) => value + half),
    twoDigits(to),
    seq(say('point zero', null), twoDigits(to), (_, value) => value),
  );
}

const inMillimetres = (hundredths: number): Clearance => ({ value: hundredths / 100, unit: 'mm' });
const inThou = (value: number): Clearance => ({ value, unit: 'thou' });
const THOU = ['thou', 'thousandths'];

/**
 * A clearance. Without a unit word it is in the sheet's unit and style; the other unit counts only with its word.
 * @param to the largest clearance that can be said, micrometres
 */
export function clearance(unit: ClearanceUnit, to: number): Phrase<Clearance> {
  const hundredths = Math.min(99, Math.ceil(to / 10));
  const thou = Math.min(60, Math.ceil(to / 25.4));
  if (unit === 'mm') {
    return oneOf(
      map(
        seq(millimetres(hundredths), maybe(say('millimetres', null), null), (value) => value),
        inMillimetres,
      ),
      map(
        seq(thousandths(thou), sayAny(THOU, null), (value) => value),
        inThou,
      ),
    );
  }
  return oneOf(
    map(
      seq(thousandths(thou), maybe(sayAny(THOU, null), null), (value) => value),
      inThou,
    ),
    map(
      seq(millimetres(hundredths), say('millimetres', null), (value) => value),
      inMillimetres,
    ),
  );
}
