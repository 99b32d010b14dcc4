// What came of one sound against one list by one ear: a line of the file that thresholds are chosen from.
import type { Heard } from '../../../src/hearing/recogniser.ts';
import type { List } from './lists.ts';
import type { Trial } from './trial.ts';

/** One sound against one list, by one ear. */
export interface Outcome {
  readonly ear: string;
  readonly set: string;
  readonly by: string;
  readonly condition: string;
  readonly speaker: string;
  readonly list: string;
  readonly said: string;
  /** The nearest sentence whatever the verdict. */
  readonly best: string | null;
  readonly tier: 'taken' | 'unsure' | 'unknown' | 'noise';
  /** Nats per phone, of all the sentence and of its worst word; nats before the next sentence. */
  readonly loss: number | null;
  readonly worstWord: number | null;
  readonly lead: number | null;
  readonly phones: number | null;
  readonly confidence: number;
  readonly ms: number;
  /** Whether `best` is the very sentence said, and whether it means the same. */
  readonly right: boolean;
  readonly same: boolean;
  readonly seconds: number;
}

const short = (value: number | null | undefined) => (value == null ? null : Number(value.toFixed(3)));

export function outcomeOf(ear: string, trial: Trial, list: List, heard: Heard, seconds: number): Outcome {
  const { set, by, noise, speaker, said } = trial;
  const best = heard.nearest?.text ?? heard.text;
  const { loss, worstWord, lead, phones } = heard.nearest ?? {};
  const right = best !== null && best === said;
  return {
    ear,
    set,
    by,
    condition: noise,
    speaker,
    list: list.name,
    said,
    best,
    tier: heard.rejected ?? 'taken',
    loss: short(loss),
    worstWord: short(worstWord),
    lead: short(lead),
    phones: phones ?? null,
    confidence: Number(heard.confidence.toFixed(4)),
    ms: Number(heard.ms.toFixed(1)),
    right,
    same: right || (best !== null && said !== '' && list.meaning(best) === list.meaning(said)),
    seconds: Number(seconds.toFixed(2)),
  };
}

/** Marks the outcome that only tells how long was listened. */
export const TIME = '(time)';

/** The words in which two sentences differ, from the first that is different to the last. */
export function difference(said: string, heard: string): [string, string] {
  const [a, b] = [said.split(' '), heard.split(' ')];
  let from = 0;
  while (from < Math.min(a.length, b.length) && a[from] === b[from]) from++;
  let tail = 0;
  while (tail < Math.min(a.length, b.length) - from && a.at(-1 - tail) === b.at(-1 - tail)) tail++;
  const part = (words: string[]) => words.slice(from, words.length - tail).join(' ') || '–';
  return [part(a), ` → ${part(b)}`];
}
