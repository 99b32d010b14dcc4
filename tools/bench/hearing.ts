// What ears hear, side by side on the same sound: the trade's phrases, people, other speech and noise, as tables for docs/hearing.md.
// Usage: npm run --silent bench:hearing -- [--ear NAME=FILE ...] [--sets trade,wide,people,digits,words,talk,impacts,noise] [--some N]
//   [--half judge|choose] [--denoised] [--no-peer] [--out FILE.jsonl] [--plot FILE.svg]; or --from FILE.jsonl ... for the tables of what earlier runs heard
// Without --ear: the shipped ear and, where it is another one, the starter. --some: at most so many sentences, recordings or
// pieces of each set. --half: thresholds are chosen on one half of what is held out and judged on the other one. --denoised: every
// ear without and with RNNoise before it, on the same sound; otherwise each as it measured better. --plot: how often the first ear
// is right, by its confidence.
import { createWriteStream, readFileSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { parseArgs } from 'node:util';
import { SAMPLE_RATE } from '../../src/hearing/recogniser.ts';
import { locate, Refusal, readText, run } from '../files.ts';
import { fullLexicon } from '../lexicon.ts';
import { denoised, denoiser, type EarOnTrial, packagedEar, strictEar } from './hearing/ears.ts';
import { type Outcome, outcomeOf, TIME } from './hearing/outcome.ts';
import { haveRecordings } from './hearing/recordings.ts';
import { Report } from './hearing/report.ts';
import { OF_RECORDINGS, SETS } from './hearing/sets.ts';
import type { Half } from './hearing/statistics.ts';
import type { Trial } from './hearing/trial.ts';

const SHIPPED = new URL('../../models/ear.safetensors', import.meta.url);
const STARTER = new URL('../../tests/data/vosk/ear.safetensors', import.meta.url);

function shippedEars(): [string, URL][] {
  const same = readFileSync(SHIPPED).equals(readFileSync(STARTER));
  return same
    ? [['ours (the starter)', SHIPPED]]
    : [
        ['ours', SHIPPED],
        ['starter', STARTER],
      ];
}

async function* outcomes(trial: Trial, ears: readonly EarOnTrial[]): AsyncGenerator<Outcome> {
  const seconds = trial.sound.length / SAMPLE_RATE;
  for (const ear of ears) {
    if (!trial.talk) {
      const heard = await ear.hear(trial.sound, trial.lists, trial.noisy);
      for (const [k, each] of heard.entries())
        yield outcomeOf(ear.name, trial, trial.lists[k]!, each, seconds);
      continue;
    }
    if (!ear.listen) continue;
    const heard = await ear.listen(trial.sound, trial.lists);
    for (const [k, list] of trial.lists.entries()) {
      for (const each of heard[k]!) yield outcomeOf(ear.name, trial, list, each, 0);
      yield { ...outcomeOf(ear.name, trial, list, NOTHING, seconds), best: TIME };
    }
  }
}
const NOTHING = {
  text: null,
  rejected: 'noise',
  confidence: 0,
  alternatives: [],
  words: [],
  from: 0,
  to: 0,
  ms: 0,
} as const;

/** The tables of earlier runs' lines. */
function retold(files: readonly string[]): Report {
  const outcomes = files.flatMap((file) =>
    readText(file)
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as Outcome),
  );
  const report = new Report([...new Set(outcomes.map(({ ear }) => ear))]);
  for (const outcome of outcomes) report.add(outcome);
  return report;
}

async function main(): Promise<number> {
  const { values } = parseArgs({
    options: {
      ear: { type: 'string', multiple: true },
      sets: { type: 'string', default: Object.keys(SETS).join(',') },
      some: { type: 'string', default: 'Infinity' },
      half: { type: 'string', default: 'judge' },
      denoised: { type: 'boolean', default: false },
      'no-peer': { type: 'boolean', default: false },
      out: { type: 'string' },
      from: { type: 'string', multiple: true },
      plot: { type: 'string' },
    },
  });
  if (values.from) {
    const report = retold(values.from);
    if (values.plot) writeFileSync(locate(values.plot), report.picture());
    console.log(report.text());
    return 0;
  }
  const unknown = values.sets.split(',').filter((set) => !(set in SETS));
  if (unknown.length > 0)
    throw new Refusal(`There is no set ${unknown.join(', ')}; there are ${Object.keys(SETS).join(', ')}.`);
  if (values.half !== 'judge' && values.half !== 'choose') throw new Refusal('--half is judge or choose.');
  const half: Half = values.half;
  const count = Number(values.some);
  if (!(count > 0)) throw new Refusal('--some wants a number above 0.');
  const lexicon = fullLexicon();
  const strict = (
    values.ear?.map((each) => [each.split('=')[0]!, locate(each.slice(each.indexOf('=') + 1))] as const) ??
    shippedEars()
  ).map(([name, file]) => strictEar(name, file, lexicon));
  const sizes = strict.map(({ name, bytes }) => `${name} ${(bytes! / 1e6).toFixed(1)} MB`).join(', ');
  const peer = values['no-peer'] ? [] : [await packagedEar(lexicon)];
  const denoise = await denoiser();
  const ears: EarOnTrial[] = values.denoised
    ? [...strict, ...peer].flatMap((ear) => [ear, denoised(ear, denoise)])
    : [...strict, ...peer.map((ear) => denoised(ear, denoise, true))];
  const out = values.out ? createWriteStream(locate(values.out)) : null;
  const report = new Report(ears.map(({ name }) => name));
  const started = performance.now();
  for (const set of values.sets.split(',')) {
    if (OF_RECORDINGS.includes(set) && !haveRecordings()) continue;
    let trials = 0;
    for await (const trial of SETS[set]!({ half, count })) {
      for await (const outcome of outcomes(trial, ears)) {
        report.add(outcome);
        out?.write(`${JSON.stringify(outcome)}\n`);
      }
      if (++trials % 100 === 0) progress(set, trials, started);
    }
    progress(set, trials, started);
  }
  out?.end();
  if (values.plot) writeFileSync(locate(values.plot), report.picture());
  console.log(
    `${new Date().toISOString().slice(0, 10)}, ${cpus()[0]!.model}, Node ${process.version}; half: ${half}${count < Infinity ? `; at most ${count} of each set` : ''}; weights: ${sizes}\n`,
  );
  if (!haveRecordings())
    console.log(
      'The recordings (../shared/data) are not here, so people, other speech and noise are left out.\n',
    );
  console.log(report.text());
  return 0;
}

const progress = (set: string, trials: number, started: number) =>
  console.error(`${((performance.now() - started) / 1000).toFixed(0)} s: ${set}, ${trials} sounds`);

await run(main);
