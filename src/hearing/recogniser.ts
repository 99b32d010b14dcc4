// The one interface of hearing. Two engines stand behind it: the strict ear (ours, the default) and vosk (a model
// that the user brings). Neither knows what the words mean.
import type { WordGraph } from '../phrases/wordgraph.ts';

/** Samples per second of everything that hearing works on (mono, −1…1). */
export const SAMPLE_RATE = 16_000;

/** Why an utterance was not taken: no speech in it, speech that is no phrase of the list, or a phrase heard doubtfully. */
export type Rejected = 'noise' | 'unknown' | 'unsure';

export interface Alternative {
  readonly text: string;
  /** 0…1 */
  readonly confidence: number;
}

/** What a verdict goes by. */
export interface Nearest {
  readonly text: string;
  /** Nats lost against the best free string of phones, for each phone of the sentence and of its worst word. */
  readonly loss: number;
  readonly worstWord: number;
  readonly phones: number;
  /** Nats by which the next sentence is worse; null where there is none. */
  readonly lead: number | null;
}

/** What was heard in one utterance. */
export interface Heard {
  /** The nearest sentence of the list; null where nothing came near (always null for noise and unknown). */
  readonly text: string | null;
  /** null: take it. `unsure`: `text` may be asked back, never entered without a yes. */
  readonly rejected: Rejected | null;
  /** 0…1, always given. */
  readonly confidence: number;
  /** The next nearest sentences, best first. */
  readonly alternatives: readonly Alternative[];
  /** One for each word of `text`, in order. */
  readonly words: readonly { readonly word: string; readonly confidence: number }[];
  /** First and last sample of speech within what was given. */
  readonly from: number;
  readonly to: number;
  /** The nearest sentence whatever the verdict, where the engine tells it: for benchmarks, never to be entered. */
  readonly nearest?: Nearest;
  /** Milliseconds of computing spent on this utterance. */
  readonly ms: number;
}

/** A whole utterance in, a sentence out. */
export interface Recogniser {
  /** Sets what may be said from now on. Rejects with an Error naming every word that cannot be pronounced. */
  expect(graph: WordGraph): Promise<void>;
  /** @param utterance mono samples at SAMPLE_RATE, −1…1, cut by end of speech or a whole file. */
  hear(utterance: Float32Array): Promise<Heard>;
  close(): void;
}
