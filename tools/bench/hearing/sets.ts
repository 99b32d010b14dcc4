// The sets of the benchmark by name. Everything in them was kept out of training, and is the same in every run.
import { impacts, noiseAlone, otherWords, talk } from './other.ts';
import { cutDigits, people, trade, wide } from './said.ts';
import type { Trial, Wanted } from './trial.ts';

export const SETS: Readonly<Record<string, (wanted: Wanted) => AsyncGenerator<Trial>>> = {
  trade,
  wide,
  people,
  digits: cutDigits,
  words: otherWords,
  talk,
  impacts,
  noise: noiseAlone,
};
/** Sets that need the recordings of ../shared. */
export const OF_RECORDINGS: readonly string[] = ['people', 'digits', 'words', 'talk', 'impacts', 'noise'];
