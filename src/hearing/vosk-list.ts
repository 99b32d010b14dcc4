// A word graph as the list of sentences that Vosk takes. Vosk keeps no more of a list than which word may follow which,
// so a graph of a hundred thousand sentences is told by the few hundred that show each pair of neighbours.
import { type Arc, outgoing, type WordGraph } from '../phrases/wordgraph.ts';

/** Sentences of the graph in which every pair of neighbouring words, every first and every last word occurs. */
export function showingPairs(graph: WordGraph): string[] {
  const finals = new Set(graph.finals);
  const out = outgoing(graph);
  const before = shortest(out, [0]);
  const turned = graph.arcs.map(({ from, to, word }) => ({ from: to, to: from, word }));
  const after = shortest(outgoing({ ...graph, arcs: turned }), graph.finals).map((words) => words?.reverse());
  const sentences = new Set<string>();
  for (const { from, to, word } of graph.arcs) {
    const start = before[from];
    const end = after[to];
    if (!start || !end) continue;
    const said = [...start, word];
    if (finals.has(to)) sentences.add(said.join(' '));
    if (from === 0) sentences.add([...said, ...end].join(' '));
    for (const next of out[to]!) {
      const rest = after[next.to];
      if (rest) sentences.add([...said, next.word, ...rest].join(' '));
    }
  }
  return [...sentences];
}

/** The fewest words from one of the starts to each state, in the order walked; undefined where no way leads. */
function shortest(out: readonly Arc[][], starts: readonly number[]): (string[] | undefined)[] {
  const ways: (string[] | undefined)[] = out.map(() => undefined);
  for (const start of starts) ways[start] = [];
  const queue = [...starts];
  for (const state of queue) {
    for (const { to, word } of out[state]!) {
      if (ways[to]) continue;
      ways[to] = [...ways[state]!, word];
      queue.push(to);
    }
  }
  return ways;
}

/** Whether the words are one of the graph's sentences. */
export function accepts(graph: WordGraph, words: readonly string[]): boolean {
  const out = outgoing(graph);
  let states = [0];
  for (const word of words) {
    const next = states.flatMap((state) => out[state]!.filter((arc) => arc.word === word));
    states = [...new Set(next.map((arc) => arc.to))];
  }
  return words.length > 0 && states.some((state) => graph.finals.includes(state));
}
