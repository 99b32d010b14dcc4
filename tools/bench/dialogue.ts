// How often a wrong figure gets into the record: whole sessions by simulated mechanics through the real session, with what the
// shipped ear made of the same sentences in sound. The tables of docs/dialogue.md.
// Usage: npm run --silent bench:dialogue -- [--entries 1000000] [--from FILE.jsonl]
// --from: where the measured sounds are kept, and more are added; without it a file in the system's temporary folder.
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { demoSheets } from '../../src/trade/demos.ts';
import { locate, Refusal, run } from '../files.ts';
import { conditions, EAR, judgeAnew, Measured } from './dialogue/measured.ts';
import { measureAll } from './dialogue/scout.ts';
import { PRESENT, SETTINGS, type Setting } from './dialogue/settings.ts';
import { emptyTally, type SimulatedEar, simulate, type Tally } from './dialogue/simulation.ts';
import { confusions, kindsTable, presentTable, type Result, settingsTable } from './dialogue/tables.ts';
import { chance } from './hearing/statistics.ts';

/** Of the wrong read-backs, the share that a listener does not notice. */
const MISSES = 0.01;
/** Another ear or other pronunciations begin another file. */
function fileOfEar(): string {
  const hash = createHash('sha256');
  for (const file of [EAR, PRONUNCIATIONS]) hash.update(readFileSync(file));
  return join(tmpdir(), `lashwright-dialogue-${hash.digest('hex').slice(0, 12)}.jsonl`);
}
const PRONUNCIATIONS = new URL('../../models/pronunciations.txt', import.meta.url);

const PERFECT: Setting = { ...PRESENT, name: 'an ear that mishears nothing' };
async function withPerfectEar(): Promise<Tally> {
  const tally = emptyTally();
  const next = chance('perfect');
  const ear: SimulatedEar = async ({ said }) => ({ tier: 'taken', text: said });
  for (const sheet of demoSheets.flatMap((each) => [each, each, each]))
    await simulate(sheet, ear, { misses: MISSES }, next, tally);
  return tally;
}

/** Sessions by each voice in one condition until so many entries were made. */
async function sessions(
  measured: Measured,
  setting: Setting,
  condition: string,
  entries: number,
): Promise<Tally> {
  const tally = emptyTally();
  const next = chance(`sessions ${condition}`);
  while (tally.entries < entries) {
    const speaker = measured.voices[Math.floor(next() * measured.voices.length)]!;
    const ear: SimulatedEar = async (wanted) => {
      const rows = await measured.of(wanted, speaker, condition);
      const row = rows[Math.floor(next() * rows.length)]!;
      return { tier: judgeAnew(row, setting), text: row.best };
    };
    const sheet = demoSheets[tally.sessions % demoSheets.length]!;
    const listener = { misses: MISSES, missesBoth: setting.missesBoth === true };
    await simulate(sheet, ear, listener, next, tally, setting.askAlways);
  }
  return tally;
}

async function main(): Promise<number> {
  const { values } = parseArgs({
    options: { entries: { type: 'string', default: '1000000' }, from: { type: 'string' } },
  });
  const entries = Number(values.entries);
  if (!(entries > 0)) throw new Refusal('--entries wants a number above 0.');
  const measured = new Measured(values.from === undefined ? fileOfEar() : locate(values.from));
  await measureAll(measured, progress);
  const differing = measured.rows.filter((row) => judgeAnew(row, PRESENT) !== row.tier).length;
  if (differing > measured.rows.length / 500)
    throw new Refusal(`${differing} sounds are judged otherwise than by the ear: judgeAnew is out of date.`);

  const started = performance.now();
  const results: Result[] = [{ condition: null, setting: PERFECT, tally: await withPerfectEar() }];
  // Half of the entries with the present verdict, the rest with the others in equal parts.
  for (const condition of conditions())
    for (const setting of SETTINGS) {
      const share = setting === PRESENT ? 0.5 : 0.5 / (SETTINGS.length - 1);
      const tally = await sessions(measured, setting, condition, (entries * share) / conditions().length);
      results.push({ condition, setting, tally });
      progress(started, `${condition}, ${setting.name}`);
    }
  const seconds = (performance.now() - started) / 1000;
  const all = results.reduce((sum, { tally }) => sum + tally.entries, 0);
  console.log(
    `${new Date().toISOString().slice(0, 10)}, ${cpus()[0]!.model}, Node ${process.version}; ${all.toLocaleString('en')} entries in ${seconds.toFixed(0)} s; ${measured.rows.length.toLocaleString('en')} sounds measured\n`,
  );
  console.log(`Voices: ${measured.voices.join(', ')}.\n\n${kindsTable(measured.rows)}\n`);
  console.log(`Figures and counts heard as others: ${confusions(measured.rows, 20)}.\n`);
  console.log(`Present verdict:\n\n${presentTable(results, measured.rows, MISSES)}\n`);
  console.log(
    'Wrong and unnoticed, of 1,000 entries (95 %) / entered wrongly at first, of 1,000 / questions a valve / utterances a valve / seconds of talk a valve / sessions signed:\n',
  );
  console.log(settingsTable(results, measured.rows, MISSES));
  return 0;
}

const progress = (started: number, what: string) =>
  console.error(`${((performance.now() - started) / 1000).toFixed(0)} s: ${what}`);

await run(main);
