// From words to phones: the word graph of a state and a lexicon become one graph of CTC units that the decoder walks.
// Words' graph states are shared, never unrolled into sentences, so a hundred thousand sentences stay small.
import type { WordGraph } from '../phrases/wordgraph.ts';
import type { Lexicon } from './lexicon.ts';

/** CTC's blank, always the first unit of a model. */
export const BLANK = 0;

/**
 * Nodes 0…states−1 are the optional blanks of the word graph's states; then come the phones of each word with optional
 * blanks between; these all emit. After them come the hubs, which emit nothing: one for every word graph state and
 * last phone with which it is reached, so that a word may follow directly unless it begins with that same phone.
 */
export interface PhoneGraph {
  /** Nodes that emit, and all nodes. */
  readonly emitting: number;
  readonly nodes: number;
  /** What each emitting node emits; for a hub, the last phone of the words that lead to it. */
  readonly unit: Uint8Array;
  /** The predecessors of node n (itself left out): preds[firstPred[n] … firstPred[n + 1]]. */
  readonly firstPred: Int32Array;
  readonly preds: Int32Array;
  /** The word that begins on entering the node, an index into `words`; −1 elsewhere. */
  readonly word: Int32Array;
  readonly words: readonly string[];
  /** Nodes in which a sentence may end. */
  readonly finals: Int32Array;
}

/**
 * Builds the graph.
 * @param units the model's units, blank first.
 * @throws Error naming every word that the lexicon lacks.
 */
export function phoneGraph(graph: WordGraph, lexicon: Lexicon, units: readonly string[]): PhoneGraph {
  const { words, wordOf, pronunciations } = pronounce(graph, lexicon, units);
  const unit: number[] = new Array(graph.states).fill(BLANK);
  const word: number[] = new Array(graph.states).fill(-1);
  // Edges in the order found; sorted by target below.
  const sources: number[] = [];
  const targets: number[] = [];
  const edge = (from: number, to: number) => {
    sources.push(from);
    targets.push(to);
  };
  const node = (u: number, w: number) => {
    word.push(w);
    return unit.push(u) - 1;
  };

  // Chains of phones, word by word; what is entered from a state, and the last phones that lead to one.
  const entries: number[][] = Array.from({ length: graph.states }, () => []);
  const exits: Map<number, number[]>[] = Array.from({ length: graph.states }, () => new Map());
  for (const arc of graph.arcs) {
    const w = wordOf.get(arc.word)!;
    for (const phones of pronunciations[w]!) {
      let last = node(phones[0]!, w);
      entries[arc.from]!.push(last);
      for (let i = 1; i < phones.length; i++) {
        const between = node(BLANK, -1);
        const next = node(phones[i]!, -1);
        edge(last, between);
        edge(between, next);
        if (phones[i] !== phones[i - 1]) edge(last, next);
        last = next;
      }
      const byPhone = exits[arc.to]!;
      const same = byPhone.get(unit[last]!);
      if (same) same.push(last);
      else byPhone.set(unit[last]!, [last]);
    }
  }

  const emitting = unit.length;
  const finals = new Set<number>();
  const ends = new Set(graph.finals);
  for (let state = 0; state < graph.states; state++) {
    const hubs: number[] = [];
    for (const [phone, lasts] of exits[state]!) {
      const hub = node(phone, -1);
      for (const last of lasts) edge(last, hub);
      edge(hub, state);
      hubs.push(hub);
    }
    for (const entry of entries[state]!) {
      edge(state, entry);
      for (const hub of hubs) if (unit[hub] !== unit[entry]) edge(hub, entry);
    }
    if (ends.has(state)) for (const end of [state, ...hubs]) finals.add(end);
  }

  const { first, sorted } = byTarget(sources, targets, unit.length);
  return {
    emitting,
    nodes: unit.length,
    unit: Uint8Array.from(unit),
    firstPred: first,
    preds: sorted,
    word: Int32Array.from(word),
    words,
    finals: Int32Array.from(finals),
  };
}

/** The words of a graph, numbered, with their pronunciations as unit numbers. */
function pronounce(graph: WordGraph, lexicon: Lexicon, units: readonly string[]) {
  const unitOf = new Map(units.map((name, i) => [name, i]));
  const words: string[] = [];
  const wordOf = new Map<string, number>();
  const pronunciations: number[][][] = [];
  const unknown: string[] = [];
  for (const { word } of graph.arcs) {
    if (wordOf.has(word)) continue;
    wordOf.set(word, words.push(word) - 1);
    const spelt = lexicon.get(word) ?? [];
    if (spelt.length === 0) unknown.push(word);
    pronunciations.push(
      spelt.map((phones) =>
        phones.split(' ').map((phone) => {
          const u = unitOf.get(phone);
          if (!u)
            throw new Error(`The pronunciation of "${word}" has "${phone}", which the model does not know.`);
          return u;
        }),
      ),
    );
  }
  if (unknown.length > 0) {
    throw new Error(`No pronunciation is known for ${unknown.map((word) => `"${word}"`).join(', ')}.`);
  }
  return { words, wordOf, pronunciations };
}

/** Counting sort of edges by target. */
function byTarget(sources: readonly number[], targets: readonly number[], nodes: number) {
  const first = new Int32Array(nodes + 1);
  for (const to of targets) first[to + 1]!++;
  for (let n = 0; n < nodes; n++) first[n + 1]! += first[n]!;
  const at = first.slice();
  const sorted = new Int32Array(sources.length);
  for (let i = 0; i < sources.length; i++) sorted[at[targets[i]!]!++] = sources[i]!;
  return { first, sorted };
}
