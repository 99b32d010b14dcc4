// A Vosk model's graph for lists at run time, made for any words. Its files are of the OpenFst library: "look-ahead" (HCLr.fst),
// "vector" (Gr.fst) and plain text.
import { BLANK } from '../src/hearing/graph.ts';
import type { Lexicon } from '../src/hearing/lexicon.ts';
import { OTHER_SPEECH } from '../src/hearing/vosk.ts';
import { float32, int32, int64 } from './vosk-bytes.ts';

interface Arc {
  readonly input: number;
  readonly word: number;
  readonly to: number;
  readonly cost: number;
}

/** What leads into a unit's sound, and what stays in it. */
const into = (unit: number) => 2 * unit + 2;
const within = (unit: number) => 2 * unit + 1;
/** What other speech costs against a word (nats): its first phone, and every further one. */
const OTHER = { first: 4, more: 1.6 };

/**
 * Any order of the words and of other speech, any phones; a list then says which words may follow which.
 * @param units the network's outputs, blank first.
 * @returns the files of the model's folder "graph".
 * @throws Error naming a word that cannot be said, or the phone of one that the network does not know.
 */
export function listGraph(
  words: readonly string[],
  lexicon: Lexicon,
  units: readonly string[],
): Map<string, Buffer> {
  const states: Arc[][] = [];
  const state = () => states.push([]) - 1;
  const go = (from: number, to: number, input: number, word = 0, cost = 0) =>
    states[from]!.push({ input, word, to, cost });
  /** A state that is entered by a unit and lasts as long as it sounds. */
  const sounding = (from: number, unit: number, word = 0, cost = 0) => {
    const here = state();
    go(from, here, into(unit), word, cost);
    go(here, here, within(unit));
    return here;
  };
  // Between two words, where a sentence begins and ends.
  const between = state();
  go(sounding(between, BLANK), between, 0);
  words.forEach((word, i) => {
    for (const phones of pronunciations(word, lexicon, units)) {
      let at = between;
      let before = BLANK;
      for (const [k, unit] of phones.entries()) {
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
  const all = [...words, OTHER_SPEECH];
  const on = state();
  go(on, between, 0);
  go(sounding(on, BLANK), on, 0);
  for (let unit = BLANK + 1; unit < units.length; unit++) {
    const here = sounding(between, unit, all.length, OTHER.first);
    go(here, on, 0);
    go(on, here, into(unit), 0, OTHER.more);
  }
  for (const arcs of states) arcs.sort((a, b) => a.word - b.word || a.input - b.input);
  return new Map([
    ['graph/words.txt', Buffer.from(['<eps>', ...all].map((word, i) => `${word} ${i}\n`).join(''))],
    ['graph/HCLr.fst', lookAhead(states, all.length)],
    ['graph/Gr.fst', anyOrder(all.length)],
    // Labels to be left out of what is heard: there are none.
    ['graph/disambig_tid.int', Buffer.alloc(0)],
  ]);
}

function pronunciations(word: string, lexicon: Lexicon, units: readonly string[]): number[][] {
  const said = lexicon.get(word) ?? [];
  if (said.length === 0) throw new Error(`No pronunciation is known for "${word}".`);
  return said.map((phones) =>
    phones.split(' ').map((phone) => {
      const unit = units.indexOf(phone, BLANK + 1);
      if (unit < 0)
        throw new Error(`The pronunciation of "${word}" has "${phone}", which the model does not know.`);
      return unit;
    }),
  );
}

const EXPANDED = 0x1;
const MUTABLE = 0x2;
const SORTED_BY_INPUT = 0x1000_0000;
const SORTED_BY_WORD = 0x4000_0000;

function lookAhead(states: readonly (readonly Arc[])[], words: number): Buffer {
  const count = states.reduce((sum, arcs) => sum + arcs.length, 0);
  const properties = EXPANDED | SORTED_BY_WORD;
  const parts = [
    header('olabel_lookahead', 1, properties, -1, 0, 0),
    int32(446_681_434),
    header('const', 2, properties, 0, states.length, count),
  ];
  let first = 0;
  states.forEach((arcs, i) => {
    const silent = arcs.filter(({ input }) => input === 0).length;
    const wordless = arcs.filter(({ word }) => word === 0).length;
    parts.push(float32(i === 0 ? 0 : Infinity), int32(first, arcs.length, silent, wordless));
    first += arcs.length;
  });
  for (const { input, word, cost, to } of states.flat())
    parts.push(int32(input, word), float32(cost), int32(to));
  // From every state every word can come next, and the end.
  const end = words + 1;
  parts.push(Buffer.from([1, 0, 1, 0, 0]), int32(end), int64(states.length));
  for (const _ of states) parts.push(int64(1), int32(1, end + 1, end));
  return Buffer.concat(parts);
}

/** All words in any order, each as likely: what is heard by as long as no list is given. */
function anyOrder(words: number): Buffer {
  const parts = [header('vector', 2, EXPANDED | MUTABLE | SORTED_BY_INPUT | SORTED_BY_WORD, 0, 1, words)];
  parts.push(float32(0), int64(words));
  for (let word = 1; word <= words; word++) parts.push(int32(word, word), float32(Math.log(words)), int32(0));
  return Buffer.concat(parts);
}

function header(
  kind: string,
  version: number,
  properties: number,
  start: number,
  states: number,
  arcs: number,
): Buffer {
  const name = (text: string) => [int32(text.length), Buffer.from(text)];
  return Buffer.concat([
    int32(2_125_659_606),
    ...name(kind),
    ...name('standard'),
    int32(version, 0),
    int64(properties, start, states, arcs),
  ]);
}
