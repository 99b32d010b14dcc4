// Every word that the phrases can produce on any data sheet, and the lexicon made from them: npm run lexicon.
import { fileURLToPath } from 'node:url';
import { cardinalWords } from '../src/phrases/numbers.ts';
import { COUNTABLE, graphFor } from '../src/phrases/vocabulary.ts';
import { wordsOf } from '../src/phrases/wordgraph.ts';
import { goingOn } from '../src/procedure/fold.ts';
import { demoSheets } from '../src/trade/demos.ts';
import { writeLexicon } from './lexicon.ts';
import { everyState } from './plan.ts';

/** The demo engines show every step and both units; other sheets add cylinders, marks and things to count. */
export function everyWord(): string[] {
  const words = new Set(['front', 'rear', 'left', 'right', 'alpha', 'bravo', ...COUNTABLE]);
  for (let value = 0; value < 100; value++)
    for (const word of cardinalWords(value).split(' ')) words.add(word);
  for (const sheet of demoSheets) {
    for (const moment of everyState(sheet).values()) {
      for (const word of wordsOf(graphFor(moment.context, goingOn(moment)))) words.add(word);
    }
  }
  return [...words].sort();
}

if (process.argv[1] === fileURLToPath(import.meta.url)) writeLexicon(everyWord());
