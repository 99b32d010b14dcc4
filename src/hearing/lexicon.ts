// How words are said: a word's pronunciations in ARPAbet phones without stress, as the network's outputs name them.
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
