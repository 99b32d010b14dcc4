// A Vosk model's graph for lists at run time, made for any words: so a test can bring a model that has all words of the
// product. The files are "look-ahead" and plain text of the OpenFst library; all numbers little-endian.
import type { Lexicon } from '../../src/hearing/lexicon.ts';

interface Arc {
  readonly input: number;
  readonly word: number;
  readonly to: number;
}

/** What leads into a unit's sound, and what stays in it. */
const into = (unit: number) => 2 * unit + 2;
const within = (unit: number) => 2 * unit + 1;
const BLANK = 0;

/** @param units the network's outputs. @returns the files of the model's folder "graph" that differ from word to word. */
export function listGraph(
  words: readonly string[],
  lexicon: Lexicon,
  units: readonly string[],
): Map<string, Buffer> {
  const states: Arc[][] = [];
  const state = () => states.push([]) - 1;
  const go = (from: number, to: number, input: number, word = 0) => states[from]!.push({ input, word, to });
  /** A state that is entered by a unit and lasts as long as it sounds. */
  const sounding = (from: number, unit: number, word = 0) => {
    const here = state();
    go(from, here, into(unit), word);
    go(here, here, within(unit));
    return here;
  };
  // Between two words, where a sentence begins and ends.
  const between = state();
  go(sounding(between, BLANK), between, 0);
  words.forEach((word, i) => {
    for (const said of lexicon.get(word)!) {
      let at = between;
      let before = BLANK;
      for (const [k, phone] of said.split(' ').entries()) {
        const unit = units.indexOf(phone);
        const next = sounding(at, unit, k === 0 ? i + 1 : 0);
        if (k > 0) {
          // The same sound twice needs a blank between; others may have one.
          if (unit === before) states[at]!.pop();
          go(sounding(at, BLANK), next, into(unit));
        }
        at = next;
        before = unit;
      }
      go(at, between, 0);
    }
  });
  for (const arcs of states) arcs.sort((a, b) => a.word - b.word || a.input - b.input);
  return new Map([
    ['graph/words.txt', Buffer.from(['<eps>', ...words].map((word, i) => `${word} ${i}\n`).join(''))],
    ['graph/HCLr.fst', lookAhead(states, words.length)],
  ]);
}

function lookAhead(states: readonly (readonly Arc[])[], words: number): Buffer {
  const count = states.reduce((sum, arcs) => sum + arcs.length, 0);
  const parts = [
    header('olabel_lookahead', 1, -1, 0, 0),
    int32(446_681_434),
    header('const', 2, 0, states.length, count),
  ];
  let first = 0;
  states.forEach((arcs, i) => {
    const silent = arcs.filter(({ input }) => input === 0).length;
    const wordless = arcs.filter(({ word }) => word === 0).length;
    parts.push(float32(i === 0 ? 0 : Number.POSITIVE_INFINITY), int32(first, arcs.length, silent, wordless));
    first += arcs.length;
  });
  for (const { input, word, to } of states.flat()) parts.push(int32(input, word), float32(0), int32(to));
  // From every state every word can come next, and the end.
  const end = words + 1;
  parts.push(Buffer.from([1, 0, 1, 0, 0]), int32(end), int64(states.length));
  for (const _ of states) parts.push(int64(1), int32(1, end + 1, end));
  return Buffer.concat(parts);
}

function header(kind: string, version: number, start: number, states: number, arcs: number): Buffer {
  const name = (text: string) => [int32(text.length), Buffer.from(text)];
  const EXPANDED_AND_SORTED_BY_WORD = 0x4000_0001;
  return Buffer.concat([
    int32(2_125_659_606),
    ...name(kind),
    ...name('standard'),
    int32(version, 0),
    int64(EXPANDED_AND_SORTED_BY_WORD, start, states, arcs),
  ]);
}

const int32 = (...values: number[]) => Buffer.from(Int32Array.from(values).buffer);
const int64 = (...values: number[]) => Buffer.from(BigInt64Array.from(values, BigInt).buffer);
const float32 = (...values: number[]) => Buffer.from(Float32Array.from(values).buffer);
