// That the short list shows Vosk every pair of neighbours of a graph, and that results are held against the graph itself.
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { graphOf, sentencesOf, type WordGraph } from '../phrases/wordgraph.ts';
import { accepts, showingPairs } from './vosk-list.ts';

const word = fc.constantFrom('one', 'two', 'thou', 'drag', 'tight');
const sentences = fc.array(
  fc.array(word, { minLength: 1, maxLength: 5 }).map((words) => words.join(' ')),
  {
    minLength: 1,
    maxLength: 12,
  },
);

function pairsOf(said: Iterable<string>): Set<string> {
  const pairs = new Set<string>();
  for (const sentence of said) {
    const words = ['<', ...sentence.split(' '), '>'];
    for (let i = 1; i < words.length; i++) pairs.add(`${words[i - 1]} ${words[i]}`);
  }
  return pairs;
}

test('has the pairs of the whole graph, and only sentences of it', () => {
  fc.assert(
    fc.property(sentences, (said) => {
      const graph = graphOf(said);
      const shown = showingPairs(graph);
      expect(pairsOf(shown)).toEqual(pairsOf(sentencesOf(graph)));
      for (const sentence of shown) expect(said).toContain(sentence);
    }),
  );
});

test('stays short where a graph has many sentences', () => {
  const digits = ['one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine'];
  const places = [0, 1, 2, 3, 4, 5];
  const graph: WordGraph = {
    states: 7,
    arcs: places.flatMap((from) => digits.map((word) => ({ from, to: from + 1, word }))),
    finals: [6],
  };
  expect(showingPairs(graph).length).toBeLessThan(5 * 9 * 9 + 9);
});

test('accepts the sentences of the graph and no part, order or lengthening of them', () => {
  const graph = graphOf(['intake two', 'intake two thou', 'go back']);
  const heard = [
    'intake two',
    'intake two thou',
    'go back',
    'intake',
    'two intake',
    'go back back',
    'go two',
    '',
  ];
  const words = heard.map((sentence) => sentence.split(' ').filter(Boolean));
  expect(words.map((said) => accepts(graph, said))).toEqual([
    true,
    true,
    true,
    false,
    false,
    false,
    false,
    false,
  ]);
});
