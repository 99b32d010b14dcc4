// A small grammar of slots: written once, it gives both the word graph that the ear listens by and the meaning of what
// was said. Literals, choices, sequences and optional parts are all it needs.
import type { Arc, WordGraph } from './wordgraph.ts';

/** A phrase that means a T. */
export interface Phrase<T> {
  /** Lays the phrase into a graph, from any of some states to `to`. @returns whether it may also be left out */
  lay(graph: Builder, from: readonly number[], to: number): boolean;
  /** Every way to read it at a place in the words: its meaning, and the place after it. */
  read(words: readonly string[], at: number): Reading<T>[];
}
interface Reading<T> {
  readonly means: T;
  readonly next: number;
}
interface Builder {
  state(): number;
  arc(from: readonly number[], to: number, word: string): void;
}

/** Fixed words with a meaning. */
export function say<T>(text: string, means: T): Phrase<T> {
  const words = text.split(' ');
  return {
    lay(graph, from, to) {
      let at = from;
      words.forEach((word, k) => {
        const next = k === words.length - 1 ? to : graph.state();
        graph.arc(at, next, word);
        at = [next];
      });
      return false;
    },
    read: (said, at) =>
      words.every((word, k) => said[at + k] === word) ? [{ means, next: at + words.length }] : [],
  };
}

/** Several wordings of one meaning. */
export const sayAny = <T>(texts: readonly string[], means: T): Phrase<T> =>
  oneOf(...texts.map((text) => say(text, means)));

export function oneOf<T>(...choices: readonly Phrase<T>[]): Phrase<T> {
  return {
    lay: (graph, from, to) => choices.map((choice) => choice.lay(graph, from, to)).some(Boolean),
    read: (words, at) => choices.flatMap((choice) => choice.read(words, at)),
  };
}

/** May be left out, and then means `otherwise`. */
export function maybe<T, O>(phrase: Phrase<T>, otherwise: O): Phrase<T | O> {
  return {
    lay(graph, from, to) {
      phrase.lay(graph, from, to);
      return true;
    },
    read: (words, at) => [...phrase.read(words, at), { means: otherwise, next: at }],
  };
}

/** One after the other. */
export function seq<A, B, T>(first: Phrase<A>, second: Phrase<B>, meaning: (a: A, b: B) => T): Phrase<T> {
  return {
    lay(graph, from, to) {
      const middle = graph.state();
      const firstOut = first.lay(graph, from, middle);
      const start = firstOut ? [middle, ...from] : [middle];
      const secondOut = second.lay(graph, start, to);
      // Where the second part may be left out, the first alone has to end in `to` as well.
      if (secondOut) first.lay(graph, from, to);
      return firstOut && secondOut;
    },
    read: (words, at) =>
      first
        .read(words, at)
        .flatMap((a) =>
          second.read(words, a.next).map((b) => ({ means: meaning(a.means, b.means), next: b.next })),
        ),
  };
}

export function map<A, T>(phrase: Phrase<A>, meaning: (a: A) => T): Phrase<T> {
  return {
    lay: (graph, from, to) => phrase.lay(graph, from, to),
    read: (words, at) => phrase.read(words, at).map(({ means, next }) => ({ means: meaning(means), next })),
  };
}

/** The graph of whole phrases. */
export function graphOfPhrase(phrase: Phrase<unknown>): WordGraph {
  let states = 2;
  const arcs: Arc[] = [];
  const known = new Set<string>();
  phrase.lay(
    {
      state: () => states++,
      arc(from, to, word) {
        for (const state of from) {
          const key = `${state} ${to} ${word}`;
          if (!known.has(key)) arcs.push({ from: state, to, word });
          known.add(key);
        }
      },
    },
    [0],
    1,
  );
  return { states, arcs, finals: [1] };
}

/** What a whole sentence means; null where it is none. The first reading counts. */
export function meaningOf<T>(phrase: Phrase<T>, sentence: string): T | null {
  const words = sentence.split(' ');
  return phrase.read(words, 0).find((reading) => reading.next === words.length)?.means ?? null;
}
