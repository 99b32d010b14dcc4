// The stored clips as sound, clean or in noise, and the stored model's parts packed as archives (tests/data/vosk/README.md).
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { SAMPLE_RATE } from '../../src/hearing/recogniser.ts';
import { tarHeader } from '../../src/hearing/vosk-archive.ts';

const DATA = fileURLToPath(new URL('../data/vosk/', import.meta.url));
/** Silence put around each clip, in samples. */
const AROUND = 0.3 * SAMPLE_RATE;
const SNR_DB = 10;

export interface Clip {
  readonly name: string;
  /** The phrase of the grammar that is said; null for other speech. */
  readonly said: string | null;
  readonly samples: Float32Array;
}

/** Each clip twice: clean, and with a machine's noise at 10 dB. */
export function clips(): Clip[] {
  const noise = wav('noise.wav');
  const rows = readFileSync(`${DATA}clips.tsv`, 'utf8').trim().split('\n');
  return rows.flatMap((row) => {
    const [name, , text] = row.split('\t');
    const said = text === '-' ? null : text!;
    const spoken = wav(`clips/${name}.wav`);
    const samples = new Float32Array(spoken.length + 2 * AROUND);
    samples.set(spoken, AROUND);
    const gain = 10 ** (-SNR_DB / 20) * (rms(spoken) / rms(noise));
    return [
      { name: `${name} clean`, said, samples },
      { name: `${name} noisy`, said, samples: samples.map((x, i) => x + gain * noise[i % noise.length]!) },
    ];
  });
}

/** The stored model with one of its two graphs, by path within the archive. */
export function modelFiles(graph: 'strict' | 'runtime'): Map<string, Buffer> {
  const files = new Map<string, Buffer>();
  for (const [from, to] of [
    ['model/am', 'am'],
    ['model/conf', 'conf'],
    [graph, 'graph'],
  ]) {
    for (const file of readdirSync(DATA + from)) {
      files.set(`${to}/${file}`, readFileSync(`${DATA}${from}/${file}`));
    }
  }
  return files;
}

/** A .tar.gz with these files below one folder, with or without entries for the folders themselves. */
export function archive(files: Map<string, Buffer>, withFolders = true): Buffer {
  const folders = new Set(['ear/', ...[...files.keys()].map((path) => `ear/${path.replace(/[^/]*$/, '')}`)]);
  const parts: Uint8Array[] = withFolders ? [...folders].map((path) => tarHeader(path, 0)) : [];
  for (const [path, content] of files) {
    parts.push(tarHeader(`ear/${path}`, content.length), content, Buffer.alloc(-content.length & 511));
  }
  return gzipSync(Buffer.concat([...parts, Buffer.alloc(1024)]), { level: 1 });
}

/** The root mean square of the sound. */
function rms(samples: Float32Array): number {
  return Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);
}

/** @param file within tests/data/vosk: 16-bit mono at SAMPLE_RATE with a plain 44-byte header. */
function wav(file: string): Float32Array {
  const bytes = readFileSync(DATA + file).subarray(44);
  return Float32Array.from({ length: bytes.length / 2 }, (_, i) => bytes.readInt16LE(2 * i) / 32_768);
}
