// The search against the plainest possible one: every sentence of a list scored for itself.
import { describe, expect, it } from 'vitest';
import { lexicon, model, noise, phrases, sound } from '../../tests/hearing-clips.ts';
import { graphOf, type WordGraph } from '../phrases/wordgraph.ts';
import { align, Decoder } from './decoder.ts';
import { logMel } from './features.ts';
import { phoneGraph } from './graph.ts';
import { phonesOf } from './lexicon.ts';
import { NetworkStream } from './network.ts';

const UNITS = model.units.length;

function posteriorsOf(name: string): Float32Array {
  const stream = new NetworkStream(model);
  const out = stream.push(logMel(sound(name)));
  return Float32Array.from([...out, ...stream.tail()]);
}

/** Posteriors as no network gives them: any unit may be likely anywhere. */
function randomPosteriors(outputs: number, seed: number): Float32Array {
  const next = noise(seed);
  const rows = Array.from({ length: outputs }, () => {
    const row = Array.from({ length: UNITS }, () => 3 * next());
    const norm = Math.log(row.reduce((sum, x) => sum + Math.exp(x), 0));
    return row.map((x) => x - norm);
  });
  return Float32Array.from(rows.flat());
}

/** Exact CTC Viterbi of one string of phones (Graves 2006, with max for sum), as nats lost against the free string. */
function lossOf(phones: readonly string[], posteriors: Float32Array): number {
  const labels = [0, ...phones.flatMap((phone) => [model.units.indexOf(phone), 0])];
  let scores = labels.map((_, i) => (i === 0 ? 0 : -Infinity));
  let free = 0;
  for (let t = 0; t < posteriors.length / UNITS; t++) {
    const row = posteriors.subarray(t * UNITS, (t + 1) * UNITS);
    free += Math.max(...row);
    const before = scores;
    scores = labels.map((label, i) => {
      const ways = [before[i]!, before[i - 1] ?? -Infinity];
      if (label !== 0 && label !== labels[i - 2]) ways.push(before[i - 2] ?? -Infinity);
      // Before the first output only the start is reached, from which the first phone follows directly.
      return Math.max(...ways) + row[label]!;
    });
  }
  return free - Math.max(scores.at(-1)!, scores.at(-2)!);
}

function bruteForce(sentences: readonly string[], posteriors: Float32Array) {
  return sentences
    .map((sentence) => ({
      sentence,
      cost: Math.min(...phonesOf(lexicon, sentence).map((phones) => lossOf(phones, posteriors))),
    }))
    .sort((a, b) => a.cost - b.cost);
}

function search(graph: WordGraph, posteriors: Float32Array) {
  const decoder = new Decoder(phoneGraph(graph, lexicon, model.units), UNITS);
  decoder.push(posteriors);
  return decoder.hypotheses().map(({ words, cost }) => ({ sentence: words.join(' '), cost }));
}

const LIST = [
  ...phrases('trade'),
  'intake two seven thou tight',
  'no',
  'stop stop',
  'seven seven',
  'nine nine nine',
];

describe('the search', () => {
  it.each([
    'trade/seven-thou.wav',
    'trade/intake-two-seven-thou-drag-okay.wav',
    'trade/no-play.wav',
    'golden.wav',
  ])('finds in %s what scoring every sentence for itself finds', (name) => {
    const posteriors = posteriorsOf(name);
    const [best, ...others] = search(graphOf(LIST), posteriors);
    const [expected, ...rest] = bruteForce(LIST, posteriors);
    expect(best!.sentence).toBe(expected!.sentence);
    expect(best!.cost).toBeCloseTo(expected!.cost, 3);
    others.forEach(({ sentence, cost }, i) => {
      expect(sentence).toBe(rest[i]!.sentence);
      expect(cost).toBeCloseTo(rest[i]!.cost, 3);
    });
  });

  it.each([1, 2, 3, 4, 5])('is exact on random posteriors too (%i)', (seed) => {
    const posteriors = randomPosteriors(24, seed);
    const expected = bruteForce(LIST, posteriors).slice(0, 3);
    const found = search(graphOf(LIST), posteriors).slice(0, 3);
    expect(found.map((x) => x.sentence)).toEqual(expected.map((x) => x.sentence));
    for (const [i, { cost }] of found.entries()) expect(cost).toBeCloseTo(expected[i]!.cost, 3);
  });

  it('finds the best sentences of a graph whose words share states', () => {
    const slots = [
      ['intake', 'exhaust'],
      ['one', 'two', 'nine'],
      ['seven', 'nine', 'one'],
      ['thou', 'loose', 'okay'],
    ];
    const arcs = slots.flatMap((words, i) => words.map((word) => ({ from: i, to: i + 1, word })));
    const sentences = slots.reduce<string[]>(
      (said, words) => said.flatMap((before) => words.map((word) => `${before} ${word}`.trim())),
      [''],
    );
    for (const posteriors of [posteriorsOf('trade/intake-two.wav'), randomPosteriors(40, 9)]) {
      const found = search({ states: 5, arcs, finals: [4] }, posteriors).slice(0, 4);
      const expected = bruteForce(sentences, posteriors).slice(0, 4);
      expect(found.map((x) => x.sentence)).toEqual(expected.map((x) => x.sentence));
      for (const [i, { cost }] of found.entries()) expect(cost).toBeCloseTo(expected[i]!.cost, 3);
    }
  });

  it('needs a blank between two equal phones, also across words', () => {
    const posteriors = new Float32Array(4 * UNITS).fill(-20);
    const row = (t: number, phone: string) => {
      posteriors[t * UNITS + model.units.indexOf(phone)] = 0;
    };
    for (const [t, phone] of ['S', 'IH', 'K', 'S'].entries()) row(t, phone);
    const [six] = search(graphOf(['six', 'six see']), posteriors);
    expect(six).toEqual({ sentence: 'six', cost: 0 });
    expect(bruteForce(['six see'], posteriors)[0]!.cost).toBe(Infinity);
    expect(search(graphOf(['six see']), posteriors)).toEqual([]);
  });

  it('gives the same however the outputs are cut, and a clone goes its own way', () => {
    const posteriors = posteriorsOf('trade/seven-thou.wav');
    const decoder = new Decoder(phoneGraph(graphOf(LIST), lexicon, model.units), UNITS);
    decoder.push(posteriors.subarray(0, 10 * UNITS));
    const clone = decoder.clone();
    clone.push(randomPosteriors(10, 3));
    for (let at = 10 * UNITS; at < posteriors.length; at += UNITS)
      decoder.push(posteriors.subarray(at, at + UNITS));
    expect(decoder.hypotheses().map((x) => x.words.join(' '))).toEqual(
      search(graphOf(LIST), posteriors).map((x) => x.sentence),
    );
  });

  it('names all words that have no pronunciation', () => {
    expect(() => phoneGraph(graphOf(['seven qwxz', 'zzyx']), lexicon, model.units)).toThrow('"qwxz", "zzyx"');
  });
});

describe('the alignment', () => {
  it('puts the words of a sentence in order and accounts for all that was lost', () => {
    const posteriors = posteriorsOf('golden.wav');
    const sentence = 'intake two seven thou drag okay';
    const { words, cost } = align(phoneGraph(graphOf([sentence]), lexicon, model.units), posteriors, UNITS)!;
    expect(words.map((word) => word.word).join(' ')).toBe(sentence);
    for (const [i, word] of words.entries()) {
      expect(word.to).toBeGreaterThanOrEqual(word.from);
      if (i > 0) expect(word.from).toBeGreaterThan(words[i - 1]!.to);
    }
    expect(cost).toBeCloseTo(bruteForce([sentence], posteriors)[0]!.cost, 3);
    expect(words.reduce((sum, word) => sum + word.cost, 0)).toBeCloseTo(cost, 3);
  });

  it('is none where the sound is shorter than the sentence', () => {
    const graph = phoneGraph(graphOf(['exhaust three']), lexicon, model.units);
    expect(align(graph, randomPosteriors(4, 1), UNITS)).toBeNull();
  });
});
