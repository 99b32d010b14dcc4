// How words are said: a word's pronunciations in ARPAbet phones without stress, as the network's outputs name them.
// Also how far two pronunciations are apart, for choosing words that can be told from each other.
import * as z from 'zod/mini';

/** Each word (lower case) with its pronunciations, phones divided by single spaces: "thou" → ["TH AW", "DH AW"]. */
export type Lexicon = ReadonlyMap<string, readonly string[]>;

const File = z.record(z.string(), z.array(z.string().check(z.regex(/^[A-Z]{1,2}( [A-Z]{1,2})*$/))));

/** @param json the content of models/lexicon.json.  @throws Error with one sentence where it is none. */
export function readLexicon(json: unknown): Lexicon {
  const parsed = File.safeParse(json);
  if (!parsed.success) throw new Error('The list of pronunciations is damaged.');
  return new Map(Object.entries(parsed.data));
}

/** Those of the words that cannot be pronounced, in their order. */
export function unpronounceable(lexicon: Lexicon, words: Iterable<string>): string[] {
  return [...words].filter((word) => !lexicon.get(word)?.length);
}

/** Every way to say a sentence, as lists of phones. @throws Error naming a word without pronunciation. */
export function phonesOf(lexicon: Lexicon, sentence: string): string[][] {
  return sentence.split(' ').reduce<string[][]>(
    (said, word) => {
      const pronunciations = lexicon.get(word);
      if (!pronunciations) throw new Error(`No pronunciation is known for "${word}".`);
      return said.flatMap((before) => pronunciations.map((phones) => [...before, ...phones.split(' ')]));
    },
    [[]],
  );
}

/** The smallest distance between any way to say one sentence and any way to say the other, in phones. */
export function sentenceDistance(lexicon: Lexicon, a: string, b: string): number {
  const ways = phonesOf(lexicon, b);
  return Math.min(...phonesOf(lexicon, a).flatMap((said) => ways.map((way) => distance(said, way))));
}

/**
 * Weighted edit distance between two pronunciations, in phones: a phone more or less costs 1, one for another 0…1 by how
 * alike they are made (manner, place and voice of consonants; position of the tongue in vowels).
 */
export function distance(a: readonly string[], b: readonly string[]): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next.push(Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + unlike(a[i - 1]!, b[j - 1]!)));
    }
    row = next;
  }
  return row[b.length]!;
}

/** Manner, place (0 lips … 1 throat), voiced. */
const CONSONANTS: Readonly<Record<string, readonly [string, number, boolean]>> = {
  P: ['stop', 0, false],
  B: ['stop', 0, true],
  T: ['stop', 0.4, false],
  D: ['stop', 0.4, true],
  K: ['stop', 0.8, false],
  G: ['stop', 0.8, true],
  CH: ['affricate', 0.5, false],
  JH: ['affricate', 0.5, true],
  F: ['fricative', 0.1, false],
  V: ['fricative', 0.1, true],
  TH: ['fricative', 0.25, false],
  DH: ['fricative', 0.25, true],
  S: ['fricative', 0.4, false],
  Z: ['fricative', 0.4, true],
  SH: ['fricative', 0.5, false],
  ZH: ['fricative', 0.5, true],
  HH: ['fricative', 1, false],
  M: ['nasal', 0, true],
  N: ['nasal', 0.4, true],
  NG: ['nasal', 0.8, true],
  L: ['glide', 0.4, true],
  R: ['glide', 0.5, true],
  Y: ['glide', 0.6, true],
  W: ['glide', 0.1, true],
};

/** Tongue at the beginning and the end of the vowel: height (0 low … 1 high), then back (0 front … 1 back). */
const VOWELS: Readonly<Record<string, readonly [number, number, number, number]>> = {
  IY: [1, 0, 1, 0],
  IH: [0.8, 0.2, 0.8, 0.2],
  EH: [0.5, 0.1, 0.5, 0.1],
  EY: [0.6, 0.1, 0.9, 0.1],
  AE: [0.2, 0.2, 0.2, 0.2],
  AA: [0, 0.8, 0, 0.8],
  AO: [0.3, 1, 0.3, 1],
  AH: [0.4, 0.5, 0.4, 0.5],
  ER: [0.5, 0.5, 0.5, 0.5],
  UH: [0.8, 0.8, 0.8, 0.8],
  UW: [1, 0.9, 1, 0.9],
  OW: [0.5, 0.9, 0.8, 0.9],
  AW: [0.1, 0.5, 0.8, 0.8],
  AY: [0.1, 0.5, 0.9, 0.1],
  OY: [0.4, 0.9, 0.9, 0.2],
};

function unlike(a: string, b: string): number {
  if (a === b) return 0;
  const [u, v] = [VOWELS[a], VOWELS[b]];
  if (u && v) return Math.min(1, Math.hypot(...u.map((x, i) => x - v[i]!)));
  const [c, d] = [CONSONANTS[a], CONSONANTS[b]];
  if (!c || !d) return 1;
  return Math.min(1, (c[0] === d[0] ? 0 : 0.5) + Math.abs(c[1] - d[1]) + (c[2] === d[2] ? 0 : 0.3));
}
