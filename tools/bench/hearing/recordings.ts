// The recordings of people and noises beside the repository (../shared/data): who is kept out of training, and their sound.
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { FLACDecoder } from '@wasm-audio-decoders/flac';
import { OggOpusDecoder } from 'ogg-opus-decoder';
import { SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { type Half, halfOf } from './statistics.ts';

const SHARED = new URL('../../../../shared/data/', import.meta.url);

export const haveRecordings = (): boolean => existsSync(new URL('speech/manifest.tsv', SHARED));

export interface Recording {
  /** Name of the set: an4, sc_test, … */
  readonly set: string;
  readonly file: string;
  /** Seconds within the file. */
  readonly start: number;
  readonly seconds: number;
  readonly speaker: string;
  readonly text: string;
  readonly heldOut: boolean;
}

let listed: Recording[] | null = null;

/** The whole list, with the mark who is kept out of training. */
export function recordings(): Recording[] {
  listed ??= readList();
  return listed;
}

function readList(): Recording[] {
  const rows = readFileSync(new URL('speech/manifest.tsv', SHARED), 'utf8')
    .trim()
    .split('\n')
    .slice(1)
    .map((line) => line.split('\t'));
  const ofTen = new Set(rows.filter(([set]) => set === 'sc_test' || set === 'sc_mini').map((row) => row[4]!));
  return rows.map(([set, file, start, seconds, speaker, text]) => ({
    set: set!,
    file: file!,
    start: Number(start),
    seconds: Number(seconds),
    speaker: speaker!,
    text: text!,
    heldOut: heldOut(groupOf(set!, ofTen.has(speaker!)), speaker!),
  }));
}

const groupOf = (set: string, ofTen: boolean) => (set.startsWith('sc_') ? (ofTen ? 'sc10' : 'sc') : set);

const READERS = new Set(['7859', '5789']);
const ONE_IN: Readonly<Record<string, number>> = { an4: 9, sc10: 6, sc: 25 };

/** The rule of models/training/data.py (`held_out`): one speaker in so many, by a hash of the name. */
export function heldOut(group: string, speaker: string): boolean {
  if (group === 'librispeech_tc5') return READERS.has(speaker);
  const share = ONE_IN[group];
  const hash = createHash('sha256').update(`ear:${speaker}`).digest('hex');
  return share !== undefined && BigInt(`0x${hash}`) % BigInt(share) === 0n;
}

/** What is held out, by file and second, of the files decoded so far: a file takes many seconds. */
const decoded = new Map<string, Map<number, Float32Array>>();

/** The sound of held-out recordings, mono at SAMPLE_RATE. */
export async function* soundsOf(
  wanted: readonly Recording[],
): AsyncGenerator<{ recording: Recording; sound: Float32Array }> {
  for (const recording of wanted.toSorted((a, b) => a.file.localeCompare(b.file) || a.start - b.start)) {
    if (!decoded.has(recording.file)) decoded.set(recording.file, await heldOutOf(recording.file));
    yield { recording, sound: decoded.get(recording.file)!.get(recording.start)! };
  }
}

async function heldOutOf(file: string): Promise<Map<number, Float32Array>> {
  // An option that the package's types forget.
  const decoder = new OggOpusDecoder({ sampleRate: SAMPLE_RATE } as object);
  await decoder.ready;
  const { channelData } = await decoder.decodeFile(readFileSync(new URL(`speech/${file}`, SHARED)));
  decoder.free();
  const kept = recordings().filter((each) => each.file === file && each.heldOut);
  return new Map(
    kept.map(({ start, seconds }) => {
      const from = Math.round(start * SAMPLE_RATE);
      return [start, channelData[0]!.slice(from, from + Math.round(seconds * SAMPLE_RATE))];
    }),
  );
}

/** A piece of noise that no ear was trained with. */
export interface Stretch {
  readonly name: string;
  readonly sound: Float32Array;
}

const NOISES = { bike: 'sc_exercise_bike', dishes: 'sc_doing_the_dishes' };
export type NoiseName = keyof typeof NOISES;
const STRETCH = 10 * SAMPLE_RATE;

/** A recorded noise in stretches of ten seconds, which belong to the halves in turn. */
export async function noiseStretches(name: NoiseName, half: Half): Promise<Stretch[]> {
  const decoder = new FLACDecoder();
  await decoder.ready;
  const { channelData, sampleRate } = await decoder.decodeFile(
    readFileSync(new URL(`noise/${NOISES[name]}.flac`, SHARED)),
  );
  decoder.free();
  if (sampleRate !== SAMPLE_RATE) throw new Error(`The noise ${name} has ${sampleRate} samples a second.`);
  const sound = channelData[0]!;
  const stretches: Stretch[] = [];
  for (let at = half === 'judge' ? STRETCH : 0; at + STRETCH <= sound.length; at += 2 * STRETCH)
    stretches.push({ name: `${name} from ${at / SAMPLE_RATE} s`, sound: sound.slice(at, at + STRETCH) });
  return stretches;
}

/** Held-out recordings of one half. */
export const inHalf = (all: readonly Recording[], half: Half): Recording[] =>
  all.filter((recording) => recording.heldOut && halfOf(recording.speaker) === half);
