// What the speaker fit changes: voices that the ear was never trained with, also faster and slower as if they were other people, say
// the five phrases; then the trade's phrases are heard by the plain ear and by the fitted one. Tables for docs/hearing.md.
// Usage: npm run --silent bench:fit -- [--some N] [--half judge|choose]
import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { type EarFit, fitOf, MOST, type Study, unusable } from '../../src/hearing/fit.ts';
import { readModel } from '../../src/hearing/network.ts';
import { StrictEar } from '../../src/hearing/strict.ts';
import { FIT_PHRASES } from '../../src/phrases/fitting.ts';
import { Refusal, run } from '../files.ts';
import { fullLexicon } from '../lexicon.ts';
import { resample } from '../sound.ts';
import { synthesise } from '../speak.ts';
import { festivalVoices, sayWithFestival } from './festival.ts';
import { differentLists, type List, sentencesFrom } from './hearing/lists.ts';
import { haveRecordings } from './hearing/recordings.ts';
import { SETS } from './hearing/sets.ts';
import { type Half, halfOf, some } from './hearing/statistics.ts';
import { type Condition, under } from './hearing/trial.ts';

const MODEL = new URL('../../models/ear.safetensors', import.meta.url);
const UNSEEN = ['cmu_us_slt_arctic_hts', 'ked_diphone'];
/** Played so many times as fast, a voice is higher and hastier, or deeper and slower: another person. */
const SPEEDS = [1, 0.7, 1.25, 1.5];
const CONDITIONS: readonly Condition[] = [null, { noise: 'bike', snr: 10 }, { noise: 'dishes', snr: 10 }];

type Say = (sentence: string) => Promise<Float32Array>;

function* speakers(sentences: readonly string[]): Generator<[string, Say]> {
  const voices: [string, Say][] = [['flite slt', (text) => synthesise(text, { voice: 'slt' })]];
  for (const voice of festivalVoices().filter((name) => UNSEEN.includes(name))) {
    const say = sayWithFestival(voice, sentences);
    voices.push([`festival ${voice}`, async (text) => say(text)]);
  }
  for (const [name, say] of voices)
    for (const speed of SPEEDS)
      yield [
        speed === 1 ? name : `${name} × ${speed}`,
        async (text) => resample(await say(text), Math.round(16_000 * speed), 16_000),
      ];
}

/** What became of some sounds. */
class Count {
  readonly #of = { right: 0, wrong: 0, 'asked right': 0, 'asked wrong': 0, nothing: 0 };
  #all = 0;
  add(taken: boolean, asked: boolean, same: boolean): void {
    this.#of[
      taken ? (same ? 'right' : 'wrong') : asked ? (same ? 'asked right' : 'asked wrong') : 'nothing'
    ]++;
    this.#all++;
  }
  get cells(): string[] {
    return [String(this.#all), ...Object.values(this.#of).map((n) => String(n))];
  }
}

const row = (cells: readonly (string | number)[]) => console.log(`| ${cells.join(' | ')} |`);

async function main(): Promise<number> {
  const { values } = parseArgs({
    options: { some: { type: 'string', default: '24' }, half: { type: 'string', default: 'judge' } },
  });
  const count = Number(values.some);
  if (!(count > 0)) throw new Refusal('--some wants a number above 0.');
  if (!haveRecordings()) throw new Refusal('The recordings (../shared/data) are not here.');
  const half = values.half as Half;
  const lexicon = fullLexicon();
  const ear = new StrictEar(readModel(new Uint8Array(readFileSync(MODEL)).buffer), lexicon);
  const all = differentLists().flatMap((list) =>
    sentencesFrom(list, 12)
      .filter((said) => halfOf(said) === half)
      .map((said) => ({ said, list })),
  );
  const what = some(all, ({ said, list }) => `${said} ${list.name}`, count);

  const counts = new Map<string, Count>();
  const countOf = (...key: string[]) => {
    const name = key.join(' | ');
    if (!counts.has(name)) counts.set(name, new Count());
    return counts.get(name)!;
  };
  const judge = async (list: List, sound: Float32Array, said: string, fit: EarFit | null, count: Count) => {
    await ear.expect(list.graph);
    ear.fit(fit);
    const { text, rejected } = await ear.hear(sound);
    count.add(
      rejected === null,
      text !== null,
      text !== null && said !== '' && list.meaning(text) === list.meaning(said),
    );
  };

  row(['voice', 'losses of the five, nats per phone', 'θ ×', 'pronunciations known']);
  let others: EarFit | null = null;
  for (const [speaker, say] of speakers([...FIT_PHRASES, ...new Set(what.map(({ said }) => said))])) {
    const studies: Study[] = [];
    for (const phrase of FIT_PHRASES)
      studies.push(ear.study(await under(null, await say(phrase), half, `${speaker} ${phrase}`), phrase));
    const fit = fitOf(studies);
    const losses = studies.map(
      (study) => `${study.loss.toFixed(2)}${unusable(study) ? ` (${unusable(study)})` : ''}`,
    );
    row([speaker, losses.join(', '), fit?.accepts ?? '–', Object.keys(fit?.says ?? {}).length]);
    if (!fit) continue;
    const who = fit.accepts > 1 ? 'hard voices' : 'clear voices';
    const fits: [string, EarFit | null][] = [
      ['plain', null],
      ['pronunciations alone', { ...fit, accepts: 1 }],
      ['fitted', fit],
      ["another voice's pronunciations", others && { ...others, accepts: 1 }],
    ];
    others = fit;
    for (const { said, list } of what)
      for (const condition of CONDITIONS) {
        const sound = await under(condition, await say(said), half, `${speaker} ${said}`);
        for (const [name, each] of fits)
          await judge(list, sound, said, each, countOf(who, condition ? 'noise 10 dB' : 'quiet', name));
      }
  }
  // Who says nothing of the list: the widest that a fit can open the ear.
  for (const set of ['words', 'noise'])
    for await (const { sound, lists } of SETS[set]!({ half, count }))
      for (const list of lists) {
        await judge(list, sound, '', null, countOf(set, '', 'plain'));
        await judge(list, sound, '', { accepts: MOST, says: {} }, countOf(set, '', `θ × ${MOST}`));
      }
  console.log();
  row(['what', 'where', 'ear', 'n', 'right', 'wrong', 'asked right', 'asked wrong', 'nothing']);
  for (const [name, count] of counts) row([name, ...count.cells]);
  return 0;
}

await run(main);
