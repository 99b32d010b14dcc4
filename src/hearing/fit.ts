// The ear fitted to one voice: what five known phrases tell of it, and the little that is adjusted for it. Pure sums on what
// the strict ear found in the sound. Bounds and the reason for each: docs/hearing.md, "Speaker fit".

/** What is adjusted for a voice. */
export interface EarFit {
  /** How many times the plain θ a sentence of three phones or more may lose and still be taken. */
  readonly accepts: number;
  /** Words with several pronunciations, each with the one that this voice used. */
  readonly says: Readonly<Record<string, string>>;
}

/** What a sentence of many phones is judged by. */
export interface Thresholds {
  /** Nats per phone that it may lose and still be taken: θ. */
  readonly loss: number;
  /** Nats by which it must lead the next sentence. */
  readonly lead: number;
}

export const PLAIN: EarFit = { accepts: 1, says: {} };

/** How loud an utterance was, in decibels below full scale. */
export interface Loudness {
  readonly speech: number;
  readonly background: number;
  /** Share of the speech's samples that are at the end of the scale. */
  readonly clipped: number;
}

/** What the sound of a phrase tells that was known beforehand. */
export interface Study {
  /** Whether it was really that phrase. */
  readonly said: boolean;
  /** Nats per phone lost against the free string of phones. */
  readonly loss: number;
  readonly loudness: Loudness;
  /** Each word that has several pronunciations: for every one, how many nats worse it fits than the best of them. */
  readonly ways: Readonly<Record<string, Readonly<Record<string, number>>>>;
}

/** Why a phrase tells nothing of the voice. What level or noise costs must never be put down to the person. */
export type Unusable = 'clipped' | 'quiet' | 'noisy' | 'unheard';

/** Share of the speech's samples; at half of it nothing is lost yet. */
const CLIPPED = 0.02;
/** Decibels below full scale; softer speech was not in the training, and loses more. */
const QUIET = -50;
/** Decibels by which speech has to stand above what is around it; with less, a noise costs as much as an accent. */
const ABOVE_NOISE = 15;

export function unusable({ said, loudness }: Study): Unusable | null {
  const { speech, background, clipped } = loudness;
  if (clipped > CLIPPED) return 'clipped';
  if (speech < QUIET) return 'quiet';
  if (speech - background < ABOVE_NOISE) return 'noisy';
  return said ? null : 'unheard';
}

/** The phrases on their way, one after the other. */
export interface Fitting {
  readonly phrases: readonly string[];
  /** Of those that are over: what each told, or null where it told nothing or was left out. */
  readonly studies: readonly (Study | null)[];
  /** How often the one that is due was tried in vain, and what was the matter the last time. */
  readonly tries: number;
  readonly why: Unusable | 'noise' | null;
}

/** After so many tries in vain a phrase is left out, for nobody may have a hand free to do so. */
const TRIES = 3;

export const beginFitting = (phrases: readonly string[]): Fitting => ({
  phrases,
  studies: [],
  tries: 0,
  why: null,
});
/** The phrase that is to be said now; null when all are over. */
export const phraseDue = ({ phrases, studies }: Fitting): string | null => phrases[studies.length] ?? null;
/** @param study of what was said for the phrase that is due; null: a noise */
export function afterPhrase(fitting: Fitting, study: Study | null): Fitting {
  if (study === null) return { ...fitting, why: 'noise' };
  const why = unusable(study);
  if (why !== null && fitting.tries + 1 < TRIES) return { ...fitting, tries: fitting.tries + 1, why };
  return over(fitting, why === null ? study : null);
}
export const skipPhrase = (fitting: Fitting): Fitting => over(fitting, null);
/** The phrase before is to be said again. */
export const repeatPhrase = ({ phrases, studies }: Fitting): Fitting => ({
  ...beginFitting(phrases),
  studies: studies.slice(0, -1),
});
const over = ({ phrases, studies }: Fitting, study: Study | null): Fitting => ({
  ...beginFitting(phrases),
  studies: [...studies, study],
});

/** So many of the phrases have to be usable. */
export const ENOUGH = 3;

/**
 * Where the middle phrase of a voice loses more than USUAL per phone (nats), θ is multiplied with more than 1, evenly up to
 * MOST at HARD. Never with less: to ask a clear voice sooner cost it right answers in noise, and saved no wrong one.
 */
const USUAL = 0.6;
const HARD = 1.2;
/** The most that any fit may multiply θ with, wherever it comes from. */
export const MOST = 1.15;

/** Nats by which every other pronunciation of a word has to fit worse until it counts as not used. */
const CLEARLY = 3;

/** The fit that phrases give; null where too few of them can be used. */
export function fitOf(studies: readonly (Study | null)[]): EarFit | null {
  const usable = studies.filter((study) => study !== null && unusable(study) === null) as Study[];
  if (usable.length < ENOUGH) return null;
  return { accepts: acceptsFor(middle(usable.map(({ loss }) => loss))), says: pronunciations(usable) };
}

function acceptsFor(loss: number): number {
  const part = Math.min(1, Math.max(0, (loss - USUAL) / (HARD - USUAL)));
  return Math.round(100 * (1 + part * (MOST - 1))) / 100;
}

function pronunciations(studies: readonly Study[]): Record<string, string> {
  const behind = new Map<string, Map<string, number>>();
  for (const { ways } of studies) {
    for (const [word, costs] of Object.entries(ways)) {
      const sums = behind.get(word) ?? new Map<string, number>();
      for (const [way, cost] of Object.entries(costs)) sums.set(way, (sums.get(way) ?? 0) + cost);
      behind.set(word, sums);
    }
  }
  const says: Record<string, string> = {};
  for (const [word, sums] of behind) {
    const [best, next] = [...sums].sort((a, b) => a[1] - b[1]);
    if (best && next && next[1] - best[1] >= CLEARLY) says[word] = best[0];
  }
  return says;
}

/** The middle one of some numbers; of an even count the higher of the two. */
const middle = (values: readonly number[]) =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!;

/** Samples in a piece of 20 ms whose power is looked at. */
const PIECE = 320;

/** How loud an utterance is: its loud pieces, and the quietest tenth of it, which lies before, between and after the words. */
export function loudnessOf(samples: Float32Array): Loudness {
  const pieces: { power: number; clipped: number }[] = [];
  for (let at = 0; at + PIECE <= samples.length; at += PIECE) {
    let power = 0;
    let clipped = 0;
    for (let i = at; i < at + PIECE; i++) {
      power += samples[i]! ** 2 / PIECE;
      if (Math.abs(samples[i]!) >= 0.99) clipped++;
    }
    pieces.push({ power, clipped });
  }
  pieces.sort((a, b) => a.power - b.power);
  const loudest = pieces.at(-1)?.power ?? 0;
  const loud = pieces.filter(({ power }) => power > loudest / 100);
  const mean = (some: typeof pieces, of: 'power' | 'clipped') =>
    some.reduce((sum, piece) => sum + piece[of], 0) / Math.max(1, some.length);
  return {
    speech: decibels(mean(loud, 'power')),
    background: decibels(mean(pieces.slice(0, Math.ceil(pieces.length / 10)), 'power')),
    clipped: mean(loud, 'clipped') / PIECE,
  };
}

/** Of a power; digital silence is −120. */
const decibels = (power: number) => 10 * Math.log10(Math.max(power, 1e-12));
