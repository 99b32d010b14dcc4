// How alike phones are to the shipped ear in noise: the measured table that the test of phrases that sound apart goes by.
// Usage: npm run --silent bench:alike -- [--some N] > tests/data/hearing/alike.tsv
// Sentences of the product's lists by voices unseen in training, with machines over them, from the half on which things are
// chosen. The phones of what was said are laid along the sound; at each, and between each two, what would be lost by another
// phone or by none, in nats.
import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { align } from '../../src/hearing/decoder.ts';
import { logMel } from '../../src/hearing/features.ts';
import { BLANK, phoneGraph } from '../../src/hearing/graph.ts';
import { joined } from '../../src/hearing/joined.ts';
import { phonesOf } from '../../src/hearing/lexicon.ts';
import { NetworkStream, readModel } from '../../src/hearing/network.ts';
import { run } from '../files.ts';
import { fullLexicon } from '../lexicon.ts';
import { SETS } from './hearing/sets.ts';

const EAR = new URL('../../models/ear.safetensors', import.meta.url);
/** Ways of saying one sentence that are tried; some have very many. */
const WAYS = 24;
/** Fewer sounds of a phone than this tell nothing of it. */
const ENOUGH = 12;
const NONE = 'none';

async function main(): Promise<number> {
  const { values } = parseArgs({ options: { some: { type: 'string', default: '150' } } });
  const model = readModel(new Uint8Array(readFileSync(EAR)).buffer);
  const { units } = model;
  const lexicon = fullLexicon();
  const itself = new Map(units.slice(1).map((phone) => [phone, [phone]]));
  /** For each phone the sums of what each unit loses in its place, and how many sounds there were. */
  const lost = new Map(
    [NONE, ...units.slice(1)].map((phone) => [phone, { n: 0, sums: new Float64Array(units.length) }]),
  );

  const along = (phones: readonly string[], posteriors: Float32Array) => {
    const arcs = phones.map((word, i) => ({ from: i, to: i + 1, word }));
    const chain = { states: arcs.length + 1, arcs, finals: [arcs.length] };
    return align(phoneGraph(chain, itself, units), posteriors, units.length);
  };
  const count = (phone: string, posteriors: Float32Array, from: number, to: number) => {
    const sum = lost.get(phone)!;
    sum.n++;
    const own = best(posteriors, from, to, phone === NONE ? BLANK : units.indexOf(phone));
    for (const k of units.keys()) sum.sums[k]! += own - best(posteriors, from, to, k);
  };
  const best = (posteriors: Float32Array, from: number, to: number, unit: number) => {
    let most = Number.NEGATIVE_INFINITY;
    for (let t = from; t <= to; t++) most = Math.max(most, posteriors[t * units.length + unit]!);
    return most;
  };

  for await (const { sound, said, noisy } of SETS.trade!({ half: 'choose', count: Number(values.some) })) {
    if (!noisy) continue;
    const stream = new NetworkStream(model);
    const posteriors = joined(stream.push(logMel(sound)), stream.tail());
    const found = phonesOf(lexicon, said)
      .slice(0, WAYS)
      .map((phones) => along(phones, posteriors))
      .filter((each) => each !== null)
      .sort((a, b) => a.cost - b.cost)[0];
    found?.words.forEach(({ word, from, to }, i) => {
      count(word, posteriors, from, to);
      const next = found.words[i + 1];
      if (next && next.from > to + 1) count(NONE, posteriors, to + 1, next.from - 1);
    });
  }
  console.log(['said', 'sounds', NONE, ...units.slice(1)].join('\t'));
  for (const [phone, { n, sums }] of lost)
    if (n >= ENOUGH) console.log([phone, n, ...Array.from(sums, (sum) => (sum / n).toFixed(1))].join('\t'));
  return 0;
}

await run(main);
