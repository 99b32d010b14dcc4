// Makes models/lexicon.json: the pronunciations of the words in use, from the CMU Pronouncing Dictionary and our own list.
// Usage: tsx tools/lexicon.ts WORDS.txt (one word a line). The whole dictionary stays in Node; the app ships its own words.
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { dictionary } from 'cmu-pronouncing-dictionary';
import { type Lexicon, unpronounceable } from '../src/hearing/lexicon.ts';

const OWN = new URL('../models/pronunciations.txt', import.meta.url);
const SHIPPED = new URL('../models/lexicon.json', import.meta.url);

/** Every word of the CMU dictionary with all its variants, and our own pronunciations after them. */
export function fullLexicon(): Lexicon {
  const lexicon = new Map<string, string[]>();
  const add = (word: string, phones: string) => {
    const known = lexicon.get(word);
    if (!known) lexicon.set(word, [phones]);
    else if (!known.includes(phones)) known.push(phones);
  };
  for (const [key, stressed] of Object.entries(dictionary)) {
    add(key.replace(/\(\d+\)$/, ''), stressed.replace(/ #.*/, '').replace(/\d/g, '').trim());
  }
  for (const line of readFileSync(OWN, 'utf8').split('\n')) {
    const [, word, phones] = /^([a-z']+) ([A-Z ]+)$/.exec(line.trim()) ?? [];
    if (word && phones) add(word, phones);
  }
  return lexicon;
}

/**
 * The content of models/lexicon.json for these words: sorted, one word a line.
 * @throws Error naming every word without pronunciation.
 */
export function lexiconFor(words: Iterable<string>): string {
  const full = fullLexicon();
  const sorted = [...new Set(words)].sort();
  const missing = unpronounceable(full, sorted);
  if (missing.length > 0)
    throw new Error(`No pronunciation for: ${missing.join(', ')}. Add to models/pronunciations.txt.`);
  const lines = sorted.map((word) => `  ${JSON.stringify(word)}: ${JSON.stringify(full.get(word))}`);
  return `{\n${lines.join(',\n')}\n}\n`;
}

/** Writes models/lexicon.json for these words. */
export function writeLexicon(words: Iterable<string>): void {
  writeFileSync(SHIPPED, lexiconFor(words));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [list] = process.argv.slice(2);
  if (!list) {
    console.error('Usage: tsx tools/lexicon.ts WORDS.txt');
    process.exit(2);
  }
  writeLexicon(readFileSync(list, 'utf8').split(/\s+/).filter(Boolean));
}
