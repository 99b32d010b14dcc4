// What the tests of hearing share: the ear, its lexicon, and the recorded clips with what was said in them.
import { readFileSync } from 'node:fs';
import { readLexicon } from '../src/hearing/lexicon.ts';
import { readModel } from '../src/hearing/network.ts';
import { fullLexicon } from '../tools/lexicon.ts';
import { readWav } from '../tools/sound.ts';

const DATA = new URL('data/hearing/', import.meta.url);
const MODELS = new URL('../models/', import.meta.url);

export const modelFile = (): ArrayBuffer =>
  new Uint8Array(readFileSync(new URL('ear.safetensors', MODELS))).buffer;
export const model = readModel(modelFile());
/** The ear that came before: smaller, and with other offsets. */
export const starterModel = () =>
  readModel(new Uint8Array(readFileSync(new URL('../vosk/ear.safetensors', DATA))).buffer);
/** Every word of the dictionary, and the words that the app ships. */
export const lexicon = fullLexicon();
export const shippedLexicon = readLexicon(JSON.parse(readFileSync(new URL('lexicon.json', MODELS), 'utf8')));

const text = (name: string) => readFileSync(new URL(name, DATA), 'utf8').trim().split('\n');

/** A tab-separated table of numbers, row after row. */
export const table = (name: string) => text(name).flatMap((line) => line.split('\t').map(Number));
export const sound = (name: string) => readWav(readFileSync(new URL(name, DATA)));
/** The phrases that may be said in the clips of `trade` or `people`. */
export const phrases = (set: 'trade' | 'people') => text(`${set}.txt`);

export interface Clip {
  readonly file: string;
  /** Empty: something that is in no list. */
  readonly said: string;
}
export const clips = (set: 'trade' | 'people'): Clip[] =>
  text('clips.tsv')
    .map((line) => line.split('\t'))
    .filter(([file]) => file!.startsWith(`${set}/`))
    .map(([file, said]) => ({ file: file!, said: said! }));

/** A repeatable stream of numbers −1…1 (Park and Miller's generator). */
export function noise(seed = 1): () => number {
  let state = seed;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return (2 * state) / 2_147_483_647 - 1;
  };
}

/** So many seconds of faint hiss, about −75 dBFS, as a quiet room gives. */
export function hush(seconds: number, seed = 1): Float32Array {
  const next = noise(seed);
  return Float32Array.from({ length: Math.round(seconds * 16_000) }, () => 3e-4 * next());
}
