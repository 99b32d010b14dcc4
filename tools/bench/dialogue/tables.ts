// The tables: what the ear made of each kind of phrase, and what came of it in whole sessions.
import { difference } from '../hearing/outcome.ts';
import { markdown } from '../hearing/report.ts';
import { rareEvents, wilson } from '../hearing/statistics.ts';
import { isRight, judgeAnew, type Kind, type Row } from './measured.ts';
import { PRESENT, type Setting } from './settings.ts';
import type { Tally } from './simulation.ts';

export interface Result {
  /** null: nothing was misheard. */
  readonly condition: string | null;
  readonly setting: Setting;
  readonly tally: Tally;
}

const KINDS: readonly Kind[] = ['figure', 'count', 'verdict', 'deed', 'answer', 'control'];
const ENTERED: readonly Kind[] = ['figure', 'count', 'verdict', 'deed'];

const percent = (share: number) => (100 * share).toFixed(1);

/** How each kind of phrase was heard in each condition, with the present verdict. */
export function kindsTable(rows: readonly Row[]): string {
  const cells: string[][] = [];
  for (const condition of new Set(rows.map((row) => row.condition)))
    for (const kind of KINDS) {
      const all = rows.filter((row) => row.kind === kind && row.condition === condition);
      if (all.length === 0) continue;
      const count = (tier: string, right: boolean) =>
        all.filter((row) => judgeAnew(row, PRESENT) === tier && isRight(row) === right).length;
      const wrong = count('taken', false);
      const [from, to] = wilson(wrong, all.length);
      const parts = [count('taken', true), wrong, count('unsure', true), count('unsure', false)];
      const nothing = all.length - parts.reduce((sum, part) => sum + part, 0);
      cells.push([
        condition,
        kind,
        String(all.length),
        percent(parts[0]! / all.length),
        `${percent(wrong / all.length)} (${percent(from)}–${percent(to)})`,
        ...[parts[2]!, parts[3]!, nothing].map((part) => percent(part / all.length)),
      ]);
    }
  return markdown(
    [
      'noise',
      'kind',
      'sounds',
      'taken right, %',
      'taken wrong (95 %)',
      'asked right',
      'asked wrong',
      'nothing',
    ],
    cells,
  );
}

/** Which figures were heard as which others, the commonest first. */
export function confusions(rows: readonly Row[], most: number): string {
  const times = new Map<string, number>();
  for (const row of rows) {
    const tier = judgeAnew(row, PRESENT);
    if ((row.kind !== 'figure' && row.kind !== 'count') || isRight(row)) continue;
    if (tier !== 'taken' && tier !== 'unsure') continue;
    const pair = `${difference(row.said, row.best!).join('')}${tier === 'taken' ? ', taken' : ''}`;
    times.set(pair, (times.get(pair) ?? 0) + 1);
  }
  const common = [...times].sort((a, b) => b[1] - a[1]).slice(0, most);
  return common.map(([pair, n]) => `${pair} (${n})`).join('; ');
}

const thousandth = (n: number, of: number, digits = 2) => ((1000 * n) / of).toFixed(digits);

/** What came of the sessions with the present verdict. */
export function presentTable(results: readonly Result[], rows: readonly Row[], misses: number): string {
  const present = results.filter(({ condition, setting }) => condition === null || setting === PRESENT);
  const of = (name: string, cell: (result: Result) => string) => [name, ...present.map(cell)];
  const ofTally = (name: string, cell: (tally: Tally) => string) => of(name, ({ tally }) => cell(tally));
  return markdown(
    ['', ...present.map(({ condition, setting }) => condition ?? setting.name)],
    [
      ofTally('entries simulated', ({ entries }) => entries.toLocaleString('en')),
      of('wrong and unnoticed, of 1,000 entries (95 %)', (result) => unnoticedOf(result, rows, misses)),
      ofTally('the same, of 1,000 figures, counts and judgements', (t) =>
        thousandth(t.unnoticedValues, t.values),
      ),
      ofTally('wrong ones read back or asked, of 1,000', (t) => thousandth(t.wrongHeard, t.standing, 1)),
      ofTally('entered wrongly, noticed and taken back', (t) => thousandth(t.corrected, t.standing)),
      ofTally('noticed when it could not be taken back', (t) => thousandth(t.stuck, t.standing)),
      ofTally('questions a valve', (t) => (t.questions / t.valves).toFixed(2)),
      ofTally('utterances a valve', (t) => (t.utterances / t.valves).toFixed(1)),
      ofTally('seconds of talk a valve', (t) => (t.seconds / t.valves).toFixed(0)),
      ofTally('entries by button, a session', (t) => (t.byHand / t.sessions).toFixed(1)),
      ofTally('sessions signed', (t) =>
        t.signed === t.sessions ? 'all' : `${percent(t.signed / t.sessions)} %`,
      ),
    ],
  );
}

/** The same with other thresholds, one cell for each condition. */
export function settingsTable(results: readonly Result[], rows: readonly Row[], misses: number): string {
  const settings = [...new Set(results.map(({ setting }) => setting))];
  const named = [...new Set(results.map(({ condition }) => condition))].filter((each) => each !== null);
  return markdown(
    ['verdict', ...named],
    settings.flatMap((setting) => {
      const of = named.map((name) => results.find((r) => r.setting === setting && r.condition === name));
      if (!of.every((result) => result !== undefined)) return [];
      return [
        [
          setting.name,
          ...of.map((result) => {
            const { tally: t } = result;
            return [
              unnoticedOf(result, rows, misses),
              thousandth(t.corrected + t.stuck + t.unnoticed, t.standing, 1),
              (t.questions / t.valves).toFixed(2),
              (t.utterances / t.valves).toFixed(1),
              (t.seconds / t.valves).toFixed(0),
              `${percent(t.signed / t.sessions)} %`,
            ].join(' / ');
          }),
        ],
      ];
    }),
  );
}

/**
 * Two kinds of chance: that of the sessions, and that of the sounds, of which there are far fewer. The share of wrong sounds has
 * Wilson's interval; what enters unnoticed goes with it.
 */
function unnoticedOf(
  { condition, setting, tally: { unnoticed, standing } }: Result,
  rows: readonly Row[],
  misses: number,
): string {
  if (condition === null) return thousandth(unnoticed, standing);
  const of = rows.filter((row) => row.condition === condition && ENTERED.includes(row.kind));
  const wrong = of.filter(
    (row) => ['taken', 'unsure'].includes(judgeAnew(row, setting)) && !isRight(row),
  ).length;
  const share = wrong / of.length;
  const [low, high] = wilson(wrong, of.length);
  const [few, many] = rareEvents(unnoticed).map((count) => (1000 * count) / standing) as [number, number];
  const [from, to] =
    wrong === 0 ? [0, Math.max(many, 1000 * misses * high)] : [(few * low) / share, (many * high) / share];
  return `${thousandth(unnoticed, standing)} (${from.toFixed(2)}–${to.toFixed(2)})`;
}
