// A mechanic with a voice, a habit of saying figures and an ear of his own: he answers what is due, listens to what comes
// back, takes back what he notices to be wrong, and takes the buttons where he is not understood.
import { meaningOf } from '../../../src/phrases/grammar.ts';
import { cardinalWords, figureWords } from '../../../src/phrases/numbers.ts';
import { valveWords } from '../../../src/phrases/spoken.ts';
import { vocabulary } from '../../../src/phrases/vocabulary.ts';
import { type Book, dueValve, itemDue, itemsOut, TURNING_TOOL } from '../../../src/procedure/book.ts';
import type { Entry } from '../../../src/procedure/entry.ts';
import type { Going } from '../../../src/procedure/fold.ts';
import { inside } from '../../../src/trade/gauge.ts';
import { speakable } from '../../../src/trade/sheet.ts';
import type { Clearance } from '../../../src/trade/units.ts';
import { answer } from '../../mechanic.ts';
import type { Kind } from './measured.ts';

/** Whether two entries put the same into the record; a valve or cylinder that is not named is the due one. */
export function same(a: Entry | null, b: Entry | null): boolean {
  if (a === null || b === null || a.type !== b.type) return false;
  const plain = (entry: Entry) => {
    const { valve: _v, cylinder: _c, ...rest } = entry as Entry & { valve?: unknown; cylinder?: unknown };
    // The drag of a blade that was taken is light, named or not.
    return JSON.stringify(rest.type === 'gauged' ? { ...rest, feel: rest.feel ?? 'light' } : rest);
  };
  return plain(a) === plain(b);
}

const VALUES: Partial<Record<Entry['type'], Kind>> = {
  counted: 'count',
  brought: 'count',
  gauged: 'figure',
  proofed: 'verdict',
  play: 'verdict',
  rocked: 'verdict',
  watched: 'verdict',
  choose: 'verdict',
  gasket: 'verdict',
  leak: 'verdict',
  affirm: 'answer',
  negative: 'answer',
  stop: 'control',
  sayAgain: 'control',
  standBy: 'control',
  carryOn: 'control',
  correction: 'control',
  goBack: 'control',
  lost: 'control',
};
export const kindOf = (entry: Entry): Kind => VALUES[entry.type] ?? 'deed';

type Chance = () => number;
const among = <T>(next: Chance, choices: readonly T[]): T => choices[Math.floor(next() * choices.length)]!;

/** What he finds, in steps of 0.02 mm or one thousandth from what the sheet wants. */
const AS_FOUND = [-3, -2, -1, 0, 0, 1, 2, 3];
/** When setting he takes the blade that was named. */
const AS_WANTED = [0];
const AS_LEFT = [-1, 0, 0, 0, 1];
const COUNTS = [3, 5, 8, 12, 13];

/** The answers of one mechanic at one engine. */
export class Answers {
  readonly #next: Chance;
  readonly #short: boolean;
  readonly #counts = new Map<string, number>([[TURNING_TOOL, 1]]);
  #place = '';
  #value: Clearance | null = null;

  constructor(next: Chance) {
    this.#next = next;
    this.#short = next() < 0.5;
  }

  /**
   * What to say now; null where all is done.
   * @param otherwise in other words, where he has some: for what was not understood
   */
  now(book: Book, going: Going, otherwise: boolean): string | null {
    // What he measured stays the same until something has changed.
    const place = `${going} ${book.step} ${book.kept.length} ${dueValve(book)?.id}`;
    if (place !== this.#place) this.#value = null;
    this.#place = place;
    if (going !== 'work') return answer(book, going);
    const short = this.#short !== otherwise;
    switch (book.step) {
      case 'countIn':
      case 'packTowels':
        return this.#count(book, itemDue(book)!);
      case 'countOut':
        return this.#count(book, itemsOut(book)[book.nth]!.what);
      case 'gauge':
        return this.#figure(book, AS_FOUND, false, short);
      case 'gaugeAgain':
        return this.#figure(book, AS_LEFT, true, short);
      case 'setDrag': {
        if (book.blade) break;
        const figure = `${this.#figure(book, AS_WANTED, true, short)} drag okay`;
        return short ? figure : `${valveWords(dueValve(book)!.valve)} ${figure}`;
      }
    }
    return answer(book, 'work');
  }

  /** As many come out as went in, whatever was heard. */
  #count(book: Book, what: string): string {
    const number = this.#counts.get(what) ?? among(this.#next, COUNTS);
    this.#counts.set(what, number);
    const words = `${cardinalWords(number)} ${what}`;
    return meaningOf(vocabulary(book, 'work'), words) ? words : cardinalWords(number);
  }

  #figure(book: Book, steps: readonly number[], within: boolean, short: boolean): string {
    this.#value ??= this.#measure(book, steps, within);
    const words = figureWords(this.#value);
    return short ? words.replace(/^point /, '').replace(/ thou$/, '') : words;
  }

  #measure(book: Book, steps: readonly number[], within: boolean): Clearance {
    const limits = book.sheet.clearance[dueValve(book)!.valve.side];
    const { wanted } = limits;
    const step = wanted.unit === 'mm' ? 0.02 : 1;
    const value = Number((wanted.value + among(this.#next, steps) * step).toFixed(2));
    const found = { ...wanted, value };
    return speakable(found) && (!within || inside(found, limits)) ? found : wanted;
  }
}
