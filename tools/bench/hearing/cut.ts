// Words cut out of what people read, for there are few recordings of single digits. The borders are found with the starter ear,
// by the rule of models/training/data.py: the quietest place between the last phone of a word and the first of the next.
import { readFileSync } from 'node:fs';
import { align } from '../../../src/hearing/decoder.ts';
import { HOP, logMel } from '../../../src/hearing/features.ts';
import { phoneGraph } from '../../../src/hearing/graph.ts';
import { joined } from '../../../src/hearing/joined.ts';
import type { Lexicon } from '../../../src/hearing/lexicon.ts';
import { type EarModel, NetworkStream, readModel } from '../../../src/hearing/network.ts';
import { SAMPLE_RATE } from '../../../src/hearing/recogniser.ts';
import { graphOf } from '../../../src/phrases/wordgraph.ts';
import { fullLexicon } from '../../lexicon.ts';

const STARTER = new URL('../../../tests/data/vosk/ear.safetensors', import.meta.url);
/** Sound kept before the first word and after the last one. */
const BEFORE = 0.3 * SAMPLE_RATE;
const AFTER = 0.35 * SAMPLE_RATE;

let ready: { model: EarModel; lexicon: Lexicon } | null = null;

/** The words of a sentence, each with its sound; none where they cannot be found in it. */
export function cutWords(sound: Float32Array, text: string): { word: string; sound: Float32Array }[] {
  ready ??= { model: readModel(new Uint8Array(readFileSync(STARTER)).buffer), lexicon: fullLexicon() };
  const { model, lexicon } = ready;
  const units = model.units.length;
  const stream = new NetworkStream(model);
  const posteriors = joined(stream.push(logMel(sound)), stream.tail());
  if (text.split(' ').some((word) => !lexicon.has(word))) return [];
  const found = align(phoneGraph(graphOf([text]), lexicon, model.units), posteriors, units)?.words ?? [];
  const size = model.stride * HOP;
  const borders = found
    .slice(1)
    .map((next, k) => quietest(sound, (found[k]!.to + 1) * size, next.from * size));
  return found.map(({ word, from, to }, k) => ({
    word,
    sound: sound.slice(
      borders[k - 1] ?? Math.max(0, from * size - BEFORE),
      borders[k] ?? Math.min(sound.length, to * size + AFTER),
    ),
  }));
}

/** The middle of the quietest 10 ms between two samples. */
function quietest(sound: Float32Array, from: number, to: number): number {
  let best = from;
  let least = Number.POSITIVE_INFINITY;
  for (let at = from; at + HOP <= to; at += HOP) {
    let power = 0;
    for (let i = at; i < at + HOP; i++) power += sound[i]! ** 2;
    if (power < least) [best, least] = [at + HOP / 2, power];
  }
  return best;
}
