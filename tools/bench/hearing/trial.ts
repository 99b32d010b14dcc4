// What every set of the benchmark has in common: one sound with what was said in it, and how it is laid into noise.
import { SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { mixed } from '../../noise.ts';
import type { List } from './lists.ts';
import {
  inHalf,
  type NoiseName,
  noiseStretches,
  type Recording,
  recordings,
  type Stretch,
} from './recordings.ts';
import { chance, type Half } from './statistics.ts';

/** One sound to be heard. */
export interface Trial {
  /** These three name the row. */
  readonly set: string;
  readonly by: string;
  readonly noise: string;
  readonly speaker: string;
  /** Empty: nothing that is in the lists. */
  readonly said: string;
  readonly lists: readonly List[];
  readonly sound: Float32Array;
  /** Whether noise is laid over, for which the packaged recogniser has a denoiser. */
  readonly noisy: boolean;
  /** Talk that goes on, for the listener to cut. */
  readonly talk?: boolean;
}

export interface Wanted {
  readonly half: Half;
  /** Sentences, words or pieces of each set at most. */
  readonly count: number;
}

export type Condition = { noise: NoiseName; snr: number } | null;
export const QUIET_AND_NOISY: readonly Condition[] = [
  null,
  { noise: 'bike', snr: 10 },
  { noise: 'bike', snr: 5 },
  { noise: 'dishes', snr: 10 },
];
export const nameOf = (condition: Condition) =>
  condition ? `${condition.noise} ${condition.snr} dB` : 'quiet';

/** Sound before and after what is said. */
const LEAD = 0.25 * SAMPLE_RATE;

/** A quiet room, about −75 dBFS. */
export function hush(length: number, seed: string): Float32Array {
  const next = chance(seed);
  return Float32Array.from({ length }, () => 3e-4 * (2 * next() - 1));
}

const noises = new Map<string, Promise<Stretch[]>>();
export function stretches(name: NoiseName, half: Half): Promise<Stretch[]> {
  const key = `${name} ${half}`;
  if (!noises.has(key)) noises.set(key, noiseStretches(name, half));
  return noises.get(key)!;
}

/** What was said, in a condition; the place in the noise follows from `key`. */
export async function under(
  condition: Condition,
  speech: Float32Array,
  half: Half,
  key: string,
): Promise<Float32Array> {
  if (!condition) {
    const sound = hush(speech.length + 2 * LEAD, key);
    for (let i = 0; i < speech.length; i++) sound[LEAD + i]! += speech[i]!;
    return sound;
  }
  const among = await stretches(condition.noise, half);
  const next = chance(`${key} ${nameOf(condition)}`);
  const { sound } = among[Math.floor(next() * among.length)]!;
  return mixed(speech, sound, condition.snr, Math.floor(next() * sound.length), LEAD);
}

export const crowd = (all: readonly Recording[]) =>
  `${new Set(all.map(({ speaker }) => speaker)).size} people`;
export const keyOf = ({ file, start }: Recording) => `${file} ${start}`;

/** One-word recordings of people of one half; what two sets have of the same person and word comes once. */
export function words(half: Half): Recording[] {
  const all = inHalf(recordings(), half).filter(({ set }) => set.startsWith('sc_'));
  const tested = new Set(
    all.filter(({ set }) => set === 'sc_test').map(({ speaker, text }) => `${speaker} ${text}`),
  );
  return all.filter(
    ({ set, speaker, text }) => set !== 'sc_yesnoupdown' || !tested.has(`${speaker} ${text}`),
  );
}
