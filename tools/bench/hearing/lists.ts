// What may be said: the lists of the product's own states, those that stand for most of a day's work, and sentences of them.
import { meaningOf } from '../../../src/phrases/grammar.ts';
import { graphFor, vocabulary } from '../../../src/phrases/vocabulary.ts';
import {
  countSentences,
  graphOf,
  outgoing,
  sentencesOf,
  type WordGraph,
} from '../../../src/phrases/wordgraph.ts';
import { goingOn, type Moment } from '../../../src/procedure/fold.ts';
import { demoSheets } from '../../../src/trade/demos.ts';
import { everyState } from '../../plan.ts';
import { chance, some } from './statistics.ts';

/** What may be said, and when two sentences of it are as good as one. */
export interface List {
  readonly name: string;
  readonly graph: WordGraph;
  meaning(sentence: string): string;
}

/** A closed list in which every sentence means itself. */
export const closedList = (name: string, sentences: readonly string[]): List => ({
  name,
  graph: graphOf(sentences),
  meaning: (sentence) => sentence,
});

function stateList(name: string, { context, ...rest }: Moment): List {
  const going = goingOn({ context, ...rest } as Moment);
  return {
    name,
    graph: graphFor(context, going),
    meaning: (sentence) => JSON.stringify(meaningOf(vocabulary(context, going), sentence)),
  };
}

/** The demo sheet with the most valves; its lists are the longest. */
const WIDEST = 0;

let ofSheets: List[][] | null = null;

/** Every state's list, by sheet. */
function lists(): List[][] {
  ofSheets ??= demoSheets.map((sheet, k) =>
    [...everyState(sheet)].map(([name, moment]) => stateList(`${k + 1}:${name}`, moment)),
  );
  return ofSheets;
}

/** The different lists of all states of both demo sheets. */
export function differentLists(): List[] {
  const found = new Map<string, List>();
  for (const list of lists().flat()) {
    const key = JSON.stringify(list.graph.arcs);
    if (!found.has(key)) found.set(key, list);
  }
  return [...found.values()];
}

/** The first of the widest sheet's lists that belongs to a step. */
function listOf(step: string): List {
  const list = lists()[WIDEST]!.find(({ name }) => name.startsWith(`${WIDEST + 1}:${step}@`));
  if (!list) throw new Error(`The first demo sheet has no step ${step}.`);
  return list;
}

const TYPICAL =
  'standBy cautions identify countIn-tools turn gauge asking-gauge setDrag nip playCheck leakRun offer'.split(
    ' ',
  );

/** A dozen lists that are waited with for most of a session: short ones, and the longest. */
export const typicalLists = (): List[] => TYPICAL.map(listOf);

/** The widest two: any valve, any number, any ending. */
export const widestLists = (): List[] => ['gauge', 'setDrag'].map(listOf);

/** Sentences of a list, each once: all of a short one, of a long one so many, at each word any of the next as likely. */
export function sentencesFrom({ name, graph }: List, count: number): string[] {
  if (countSentences(graph) <= 2 * count)
    return some(sentencesOf(graph), (sentence) => `${name} ${sentence}`, count);
  const next = chance(`sentences of ${name}`);
  const out = outgoing(graph);
  const found = new Set<string>();
  for (let tries = 0; found.size < count && tries < 100 * count; tries++) {
    const words: string[] = [];
    for (let at = 0; out[at]!.length > 0; ) {
      const arc = out[at]![Math.floor(next() * out[at]!.length)]!;
      words.push(arc.word);
      at = arc.to;
    }
    found.add(words.join(' '));
  }
  return [...found];
}

/** Sentences of a list, any of them as likely: nearly all are of the longest kind. */
export function anySentences({ name, graph }: List, count: number): string[] {
  const next = chance(`any of ${name}`);
  const out = outgoing(graph);
  const finals = new Set(graph.finals);
  const ways = new Map<number, number>();
  const waysFrom = (state: number): number => {
    let known = ways.get(state);
    if (known === undefined) {
      known = out[state]!.reduce((sum, arc) => sum + waysFrom(arc.to), finals.has(state) ? 1 : 0);
      ways.set(state, known);
    }
    return known;
  };
  const found = new Set<string>();
  while (found.size < count) {
    const words: string[] = [];
    for (let at = 0; ; ) {
      let left = next() * waysFrom(at) - (finals.has(at) ? 1 : 0);
      if (left < 0) break;
      const arc = out[at]!.find(({ to }) => {
        left -= waysFrom(to);
        return left < 0;
      });
      if (!arc) break;
      words.push(arc.word);
      at = arc.to;
    }
    found.add(words.join(' '));
  }
  return [...found];
}

const NUMBERS = new Set(
  (
    'zero oh one two three four five six seven eight nine niner ten eleven twelve thirteen fourteen fifteen sixteen ' +
    'seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand'
  ).split(' '),
);
export const isNumberWord = (word: string): boolean => NUMBERS.has(word);
export const hasNumber = (sentence: string): boolean => sentence.split(' ').some(isNumberWord);
