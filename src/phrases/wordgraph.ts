// What may be said in one state, as a graph of words. It is the whole contract between phrases and hearing:
// a recogniser takes a graph and gives back one of the sentences in it, or nothing.

/** One word on the way from a state to a later one. */
export interface Arc {
  readonly from: number;
  readonly to: number;
  readonly word: string;
}

/** An acyclic graph; state 0 is the start, a sentence ends in one of `finals`. Words are lower case. */
export interface WordGraph {
  readonly states: number;
  readonly arcs: readonly Arc[];
  readonly finals: readonly number[];
}

/** A prefix tree over whole sentences ("intake two"), words divided by single spaces. Empty sentences are ignored. */
export function graphOf(sentences: Iterable<string>): WordGraph {
  const next: Map<string, number>[] = [new Map()];
  const arcs: Arc[] = [];
  const finals = new Set<number>();
  for (const sentence of sentences) {
    const words = sentence.split(' ').filter((word) => word !== '');
    if (words.length === 0) continue;
    let at = 0;
    for (const word of words) {
      let to = next[at]!.get(word);
      if (to === undefined) {
        to = next.push(new Map()) - 1;
        next[at]!.set(word, to);
        arcs.push({ from: at, to, word });
      }
      at = to;
    }
    finals.add(at);
  }
  return { states: next.length, arcs, finals: [...finals] };
}

/** The words used, each once, in alphabetical order. */
export function wordsOf(graph: WordGraph): string[] {
  return [...new Set(graph.arcs.map((arc) => arc.word))].sort();
}

/** How many different ways lead from the start to an end: the number of sentences where no two ways say the same. */
export function countSentences(graph: WordGraph): number {
  const finals = new Set(graph.finals);
  const out = outgoing(graph);
  const known = new Map<number, number>();
  const count = (state: number): number => {
    let total = known.get(state);
    if (total === undefined) {
      total = finals.has(state) ? 1 : 0;
      for (const arc of out[state]!) total += count(arc.to);
      known.set(state, total);
    }
    return total;
  };
  return count(0);
}

/** Every sentence, in the order of the arcs. Only for lists known to be small (see countSentences). */
export function* sentencesOf(graph: WordGraph): Generator<string> {
  const finals = new Set(graph.finals);
  const out = outgoing(graph);
  function* walk(state: number, said: string): Generator<string> {
    if (finals.has(state) && said !== '') yield said;
    for (const arc of out[state]!) yield* walk(arc.to, said === '' ? arc.word : `${said} ${arc.word}`);
  }
  yield* walk(0, '');
}

/** The arcs that leave each state. */
export function outgoing(graph: WordGraph): Arc[][] {
  const out: Arc[][] = Array.from({ length: graph.states }, () => []);
  for (const arc of graph.arcs) out[arc.from]!.push(arc);
  return out;
}
