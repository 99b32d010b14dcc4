// Writes the strict ear as a model folder for Vosk, with every word of the product: the same network in the other engine.
// Usage: npm run --silent vosk-folder -- [--ear FILE] [--out DIR] [--bits 8|16]
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { MEL_BINS } from '../src/hearing/features.ts';
import type { Lexicon } from '../src/hearing/lexicon.ts';
import { type EarModel, readModel } from '../src/hearing/network.ts';
import { SAMPLE_RATE } from '../src/hearing/recogniser.ts';
import { locate, Refusal, reasonOf, run, sentenceOf } from './files.ts';
import { fullLexicon } from './lexicon.ts';
import { listGraph } from './vosk-graph.ts';
import { networkFile, type WeightBits } from './vosk-network.ts';
import { everyWord } from './words.ts';

const USAGE = 'Usage: npm run --silent vosk-folder -- [--ear FILE] [--out DIR] [--bits 8|16]';
const EAR = fileURLToPath(new URL('../models/ear.safetensors', import.meta.url));
const OUT = fileURLToPath(new URL('../models/vosk', import.meta.url));

/** The features of src/hearing/features.ts. */
const FEATURES = {
  'sample-frequency': SAMPLE_RATE,
  'num-mel-bins': MEL_BINS,
  'low-freq': 20,
  'high-freq': 7600,
  dither: 0,
  'use-energy': false,
  'window-type': 'povey',
  'snip-edges': true,
  'energy-floor': 0,
};

/** The outputs are log posteriors, so they are not scaled; the blank, phone 1, is the silence that ends a sentence. */
const decoding = ({ stride }: EarModel) => ({
  'min-active': 200,
  'max-active': 7000,
  beam: 20,
  'lattice-beam': 4,
  'acoustic-scale': 1,
  'frame-subsampling-factor': stride,
  'frames-per-chunk': 15,
  'endpoint.silence-phones': 1,
  'endpoint.rule2.min-trailing-silence': 0.5,
  'endpoint.rule3.min-trailing-silence': 1,
  'endpoint.rule4.min-trailing-silence': 2,
});

/**
 * A model's files by path within its folder.
 * @throws Error naming a word that cannot be said with the network's units.
 */
export function voskFolder(
  model: EarModel,
  words: readonly string[],
  lexicon: Lexicon,
  bits: WeightBits = 16,
): Map<string, Buffer> {
  return new Map([
    ['am/final.mdl', networkFile(model, bits)],
    ['conf/model.conf', options(decoding(model))],
    ['conf/fbank.conf', options(FEATURES)],
    ...listGraph(words, lexicon, model.units),
  ]);
}

const options = (values: Record<string, unknown>) =>
  Buffer.from(
    Object.entries(values)
      .map(([name, value]) => `--${name}=${value}\n`)
      .join(''),
  );

/**
 * @param files by path below the folder, which is made where there is none.
 * @throws Refusal rather than mix two models, of which Vosk would make a third.
 */
export function writeFolder(folder: string, files: ReadonlyMap<string, Buffer>): void {
  const [foreign] = filesIn(folder).filter((path) => !files.has(path));
  if (foreign !== undefined) {
    throw new Refusal(
      `${join(folder, foreign)} is of another model. Move it away, or name another folder with --out.`,
    );
  }
  try {
    for (const [path, content] of files) {
      mkdirSync(dirname(join(folder, path)), { recursive: true });
      writeFileSync(join(folder, path), content);
    }
  } catch (error) {
    throw new Refusal(`${folder} cannot be written: ${reasonOf(error)}.`);
  }
}

function filesIn(folder: string): string[] {
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory()) return [];
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => !entry.isDirectory())
    .map(({ parentPath, name }) => relative(folder, join(parentPath, name)).replaceAll('\\', '/'));
}

function readArguments(): { ear: string; out: string; bits: WeightBits } {
  try {
    const { values } = parseArgs({
      options: { ear: { type: 'string' }, out: { type: 'string' }, bits: { type: 'string', default: '16' } },
    });
    const bits = Number(values.bits);
    if (bits !== 8 && bits !== 16) throw new Error('Weights have 8 bits or 16.');
    return {
      ear: values.ear === undefined ? EAR : locate(values.ear),
      out: values.out === undefined ? OUT : locate(values.out),
      bits,
    };
  } catch (error) {
    throw new Refusal(`${sentenceOf(error)}\n${USAGE}`);
  }
}

function readEar(path: string): EarModel {
  let file: Buffer;
  try {
    file = readFileSync(path);
  } catch (error) {
    throw new Refusal(`${path} cannot be read: ${reasonOf(error)}.`);
  }
  return readModel(new Uint8Array(file).buffer);
}

async function main(): Promise<number> {
  const { ear, out, bits } = readArguments();
  const words = everyWord();
  const files = voskFolder(readEar(ear), words, fullLexicon(), bits);
  writeFolder(out, files);
  const bytes = [...files.values()].reduce((sum, { length }) => sum + length, 0);
  process.stdout.write(`${out}: ${words.length} words, ${(bytes / 1e6).toFixed(1)} MB\n`);
  return 0;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await run(main);
