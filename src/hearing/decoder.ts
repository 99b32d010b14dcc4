// The strict search: Viterbi token passing over exactly what may be said, one network output after the other.
// Costs are what a path loses against the best free string of phones, so they start at 0 and only ever grow.
import { BLANK, type PhoneGraph } from './graph.ts';

/** Different word histories kept in each node, which is also the most sentences that one answer holds per end. */
const TOKENS = 4;
/**
 * Paths this much worse than the free string are given up (nats). As costs only grow, nothing is lost that could still be
 * taken or asked back: a sentence of 45 phones may lose 115 (1.6 × 1.6 a phone, see strict.ts).
 */
const GIVE_UP = 120;

/** A whole sentence at this moment. */
export interface Hypothesis {
  readonly words: readonly string[];
  /** Nats lost against the best free string of phones. */
  readonly cost: number;
}

/** Word sequences, each known by one number; 0 is the empty one. Shared between a decoder and its clones. */
class Histories {
  readonly #parent: number[] = [-1];
  readonly #word: number[] = [-1];
  readonly #known = new Map<number, number>();
  readonly #vocabulary: number;

  constructor(vocabulary: number) {
    this.#vocabulary = vocabulary;
  }

  extend(history: number, word: number): number {
    const key = history * this.#vocabulary + word;
    let longer = this.#known.get(key);
    if (longer === undefined) {
      longer = this.#parent.push(history) - 1;
      this.#word.push(word);
      this.#known.set(key, longer);
    }
    return longer;
  }

  words(history: number): number[] {
    const words: number[] = [];
    for (let h = history; h > 0; h = this.#parent[h]!) words.unshift(this.#word[h]!);
    return words;
  }
}

/** Tokens of all nodes, best first within a node; an infinite cost means none. */
interface Tokens {
  readonly cost: Float32Array;
  readonly history: Int32Array;
}

export class Decoder {
  readonly #graph: PhoneGraph;
  readonly #units: number;
  readonly #histories: Histories;
  #now: Tokens;
  #next: Tokens;

  /** @param units outputs of the network, the width of one row given to `push`. */
  constructor(graph: PhoneGraph, units: number, from?: { histories: Histories; tokens: Tokens }) {
    this.#graph = graph;
    this.#units = units;
    this.#next = noTokens(graph.nodes);
    if (from) {
      this.#histories = from.histories;
      this.#now = { cost: from.tokens.cost.slice(), history: from.tokens.history.slice() };
    } else {
      this.#histories = new Histories(graph.words.length);
      this.#now = noTokens(graph.nodes);
      this.#now.cost[0] = 0;
    }
  }

  /** A decoder in the same state that goes its own way from here. */
  clone(): Decoder {
    return new Decoder(this.#graph, this.#units, { histories: this.#histories, tokens: this.#now });
  }

  /** @param posteriors m × units log posteriors, the next of the utterance. */
  push(posteriors: Float32Array): void {
    for (let at = 0; at < posteriors.length; at += this.#units) {
      this.#step(costs(posteriors.subarray(at, at + this.#units)));
    }
  }

  /** The whole sentences heard if the sound ended here, best first, each once. */
  hypotheses(): Hypothesis[] {
    const { cost, history } = this.#now;
    const best = new Map<number, number>();
    for (const node of this.#graph.finals) {
      for (let i = node * TOKENS; i < (node + 1) * TOKENS && cost[i]! < Infinity; i++) {
        const known = best.get(history[i]!) ?? Infinity;
        if (history[i]! > 0 && cost[i]! < known) best.set(history[i]!, cost[i]!);
      }
    }
    return [...best]
      .sort((a, b) => a[1] - b[1])
      .slice(0, TOKENS + 1)
      .map(([history, cost]) => ({
        words: this.#histories.words(history).map((word) => this.#graph.words[word]!),
        cost,
      }));
  }

  /** The cost of the best path of all, be it in the middle of a sentence or not (nats). */
  lead(): number {
    const { cost } = this.#now;
    let best = Infinity;
    for (let i = 0; i < cost.length; i += TOKENS) if (cost[i]! < best) best = cost[i]!;
    return best;
  }

  #step(emission: Float32Array): void {
    const { emitting, nodes, unit } = this.#graph;
    for (let n = 0; n < emitting; n++) this.#gather(n, this.#now, n * TOKENS, emission[unit[n]!]!);
    // Hubs pass on, within the same moment, what their words' last phones have just got.
    for (let n = emitting; n < nodes; n++) this.#gather(n, this.#next, -1, 0);
    [this.#now, this.#next] = [this.#next, this.#now];
  }

  /** Fills node n with the best of its own tokens (which begin at `self`; −1: none) and its predecessors'. */
  #gather(n: number, from: Tokens, self: number, emission: number): void {
    const { firstPred, preds, word } = this.#graph;
    const { cost, history } = from;
    const out = this.#next;
    const base = n * TOKENS;
    const enough = GIVE_UP - emission;
    const begins = word[n]!;
    let count = 0;
    if (self >= 0) {
      while (count < TOKENS && cost[self + count]! <= enough) {
        out.cost[base + count] = cost[self + count]!;
        out.history[base + count] = history[self + count]!;
        count++;
      }
    }
    const end = firstPred[n + 1]!;
    for (let e = firstPred[n]!; e < end; e++) {
      const p = preds[e]! * TOKENS;
      for (let i = p; i < p + TOKENS; i++) {
        const c = cost[i]!;
        if (!(c <= enough)) break;
        if (count === TOKENS && c >= out.cost[base + count - 1]!) break;
        const h = begins < 0 ? history[i]! : this.#histories.extend(history[i]!, begins);
        count = insert(out, base, count, c, h);
      }
    }
    for (let i = base; i < base + count; i++) out.cost[i]! += emission;
    out.cost.fill(Infinity, base + count, base + TOKENS);
  }
}

/** Puts a token in its place among `count` others, each history once.  @returns the new count. */
function insert({ cost, history }: Tokens, base: number, count: number, c: number, h: number): number {
  let at = base;
  while (at < base + count && cost[at]! <= c) {
    if (history[at] === h) return count;
    at++;
  }
  let last = at;
  while (last < base + count && history[last] !== h) last++;
  if (last === base + count) {
    if (count === TOKENS) last--;
    else count++;
  }
  for (; last > at; last--) {
    cost[last] = cost[last - 1]!;
    history[last] = history[last - 1]!;
  }
  cost[at] = c;
  history[at] = h;
  return count;
}

function noTokens(nodes: number): Tokens {
  return { cost: new Float32Array(nodes * TOKENS).fill(Infinity), history: new Int32Array(nodes * TOKENS) };
}

/** What each unit loses against the best unit of one output (nats, ≥ 0). */
function costs(row: Float32Array): Float32Array {
  let top = row[0]!;
  for (const value of row) if (value > top) top = value;
  return row.map((value) => top - value);
}

/** One word of an alignment. */
export interface AlignedWord {
  readonly word: string;
  /** First and last output at which the word's phones lie. */
  readonly from: number;
  readonly to: number;
  readonly phones: number;
  /** Nats lost from this word's first phone up to the next word's. */
  readonly cost: number;
}

/**
 * Where the words lie on the best path (Viterbi with back-pointers; meant for the graph of one sentence).
 * @returns the words and the whole path's cost (nats), or null where the utterance is too short for it.
 */
export function align(
  graph: PhoneGraph,
  posteriors: Float32Array,
  units: number,
): { words: AlignedWord[]; cost: number } | null {
  const { emitting, nodes, unit, firstPred, preds } = graph;
  const outputs = posteriors.length / units;
  const back = new Int32Array(outputs * nodes).fill(-1);
  const lost = Array.from({ length: outputs }, (_, t) =>
    costs(posteriors.subarray(t * units, (t + 1) * units)),
  );
  let now = new Float64Array(nodes).fill(Infinity);
  now[0] = 0;
  for (let t = 0; t < outputs; t++) {
    const next = new Float64Array(nodes).fill(Infinity);
    for (let n = 0; n < nodes; n++) {
      const emits = n < emitting;
      const from = emits ? now : next;
      let best = emits ? now[n]! : Infinity;
      let source = n;
      for (let e = firstPred[n]!; e < firstPred[n + 1]!; e++) {
        if (from[preds[e]!]! < best) {
          source = preds[e]!;
          best = from[source]!;
        }
      }
      next[n] = emits ? best + lost[t]![unit[n]!]! : best;
      back[t * nodes + n] = source;
    }
    now = next;
  }
  let end = graph.finals[0]!;
  for (const node of graph.finals) if (now[node]! < now[end]!) end = node;
  if (outputs === 0 || now[end]! === Infinity) return null;
  return { words: wordsOnPath(graph, trace(graph, back, outputs, end), lost), cost: now[end]! };
}

/** The emitting node of each output on the path that ends in `end`. */
function trace(graph: PhoneGraph, back: Int32Array, outputs: number, end: number): number[] {
  const path: number[] = [];
  let node = end;
  for (let t = outputs - 1; t >= 0; t--) {
    if (node >= graph.emitting) node = back[t * graph.nodes + node]!;
    path.unshift(node);
    node = back[t * graph.nodes + node]!;
  }
  return path;
}

function wordsOnPath(
  graph: PhoneGraph,
  path: readonly number[],
  lost: readonly Float32Array[],
): AlignedWord[] {
  const words: { word: string; from: number; to: number; phones: number; cost: number }[] = [];
  path.forEach((node, t) => {
    const entered = node !== path[t - 1];
    if (entered && graph.word[node]! >= 0) {
      words.push({ word: graph.words[graph.word[node]!]!, from: t, to: t, phones: 0, cost: 0 });
    }
    const word = words.at(-1);
    if (!word) return;
    word.cost += lost[t]![graph.unit[node]!]!;
    if (graph.unit[node] === BLANK) return;
    word.to = t;
    if (entered) word.phones++;
  });
  return words;
}
