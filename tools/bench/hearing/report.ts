// What was heard, counted, and the tables of it: each ear a column, each row with its set, voices, noise, number and interval.
import { hasNumber } from './lists.ts';
import { difference, type Outcome, TIME } from './outcome.ts';
import { picture, tenths } from './reliability.ts';
import { rareEvents, wilson } from './statistics.ts';

const percent = (share: number) => (100 * share).toFixed(1);
function share(hits: number, n: number): string {
  if (n === 0) return '–';
  const [from, to] = wilson(hits, n);
  return `${percent(hits / n)} (${percent(from)}–${percent(to)})`;
}

export function markdown(head: readonly string[], rows: readonly (readonly string[])[]): string {
  return [head, head.map(() => '---'), ...rows].map((cells) => `| ${cells.join(' | ')} |`).join('\n');
}

interface Row {
  readonly set: string;
  readonly by: string;
  readonly condition: string;
  readonly of: Map<string, Outcome[]>;
}

export class Report {
  readonly #ears: readonly string[];
  readonly #rows = new Map<string, Row>();
  /** Sets of talk that goes on. */
  readonly #talk = new Set<string>();

  constructor(ears: readonly string[]) {
    this.#ears = ears;
  }

  add(outcome: Outcome): void {
    const { set, by, condition } = outcome;
    const name = `${set}|${condition}`;
    let row = this.#rows.get(name);
    if (!row) {
      row = { set, by, condition, of: new Map(this.#ears.map((ear) => [ear, []])) };
      this.#rows.set(name, row);
    }
    row.of.get(outcome.ear)!.push(outcome);
    if (outcome.best === TIME) this.#talk.add(set);
  }

  text(): string {
    const rows = [...this.#rows.values()];
    const said = rows.filter(({ set, of }) => !this.#talk.has(set) && this.#first(of).said !== '');
    const other = rows.filter(({ set, of }) => !this.#talk.has(set) && this.#first(of).said === '');
    const talk = rows.filter(({ set }) => this.#talk.has(set));
    const parts: string[] = [];
    if (said.length > 0) parts.push(this.#best(said), this.#verdicts(said), this.#values(said));
    if (other.length > 0) parts.push(this.#other(other));
    if (talk.length > 0) parts.push(this.#talks(talk));
    if (said.length > 0) parts.push(this.#reliability(said), this.#cost(said), this.#errors(said));
    if (rows.some(({ by }) => by.endsWith('people') || by.startsWith('reader')))
      parts.push(
        'People, readers, these voices and these noises are kept out of the training of our ear. The starter ear was trained on these people and readers, which flatters its columns.',
      );
    return parts.join('\n\n');
  }

  #first = (of: Row['of']): Outcome => [...of.values()].flat()[0]!;

  #table(rows: readonly Row[], cell: (outcomes: readonly Outcome[], n: number) => string): string {
    return markdown(
      ['set', 'voices', 'noise', 'n', ...this.#ears],
      rows.map((row) => {
        const most = Math.max(...[...row.of.values()].map((each) => each.length));
        const cells = this.#ears.map((ear) =>
          row.of.get(ear)!.length > 0 ? cell(row.of.get(ear)!, most) : '–',
        );
        return [row.set, row.by, row.condition, String(most), ...cells];
      }),
    );
  }

  #best(rows: readonly Row[]): string {
    return `No refusal: the nearest sentence is word for word the one said, % (95 %)\n\n${this.#table(
      rows,
      (outcomes) => share(outcomes.filter(({ right }) => right).length, outcomes.length),
    )}`;
  }

  #verdicts(rows: readonly Row[]): string {
    return `With the verdict, %: taken with the right meaning / taken with another (95 %) / asked back, rightly + wrongly / refused\n\n${this.#table(
      rows,
      (outcomes) => {
        const n = outcomes.length;
        const part = (of: (o: Outcome) => boolean) => percent(outcomes.filter(of).length / n);
        const wrong = outcomes.filter(({ tier, same }) => tier === 'taken' && !same).length;
        return [
          part(({ tier, same }) => tier === 'taken' && same),
          share(wrong, n),
          `${part(({ tier, same }) => tier === 'unsure' && same)} + ${part(({ tier, same }) => tier === 'unsure' && !same)}`,
          part(({ tier }) => tier === 'unknown' || tier === 'noise'),
        ].join(' / ');
      },
    )}`;
  }

  #values(rows: readonly Row[]): string {
    const loud = rows.filter(({ condition }) => condition.endsWith(' 10 dB'));
    if (loud.length === 0) return '';
    return `Sentences with a number in them, at 10 dB, %: another meaning taken without asking (95 %) / asked back / refused\n\n${this.#table(
      loud
        .map((row) => ({
          ...row,
          of: new Map([...row.of].map(([ear, all]) => [ear, all.filter(({ said }) => hasNumber(said))])),
        }))
        .filter(({ of }) => [...of.values()][0]!.length > 0),
      (outcomes) => {
        const n = outcomes.length;
        const part = (of: (o: Outcome) => boolean) => percent(outcomes.filter(of).length / n);
        const wrong = outcomes.filter(({ tier, same }) => tier === 'taken' && !same).length;
        return `${share(wrong, n)} / ${part(({ tier }) => tier === 'unsure')} / ${part(({ tier }) => tier === 'unknown' || tier === 'noise')}`;
      },
    )}`;
  }

  #other(rows: readonly Row[]): string {
    return `Nothing of the lists was said, %: taken (95 %) / asked back / taken with a number in it. n is sounds times lists, which the interval takes for independent; where fewer are named, an ear was tried on one list each\n\n${this.#table(
      rows,
      (outcomes, most) => {
        const n = outcomes.length;
        const taken = outcomes.filter(({ tier }) => tier === 'taken');
        const asked = outcomes.filter(({ tier }) => tier === 'unsure').length;
        const numbers = taken.filter(({ best }) => hasNumber(best!)).length;
        return `${share(taken.length, n)} / ${percent(asked / n)} / ${percent(numbers / n)}${n < most ? ` of ${n}` : ''}`;
      },
    )}`;
  }

  #talks(rows: readonly Row[]): string {
    const head =
      'Talk and impacts that go on: taken phrases an hour (95 %) / asked back an hour / begun and ignored an hour / taken with a number in it; the packaged recogniser takes all of it';
    const cells = rows.map((row) => {
      const hours = (all: readonly Outcome[]) =>
        all
          .filter(({ tier, best }) => tier === 'noise' && best === TIME)
          .reduce((sum, { seconds }) => sum + seconds, 0) / 3600;
      return [
        row.set,
        row.by,
        row.condition,
        `${hours(row.of.get(this.#ears[0]!)!).toFixed(2)} h`,
        ...this.#ears.map((ear) => {
          const all = row.of.get(ear)!;
          if (all.length === 0) return '–';
          const taken = all.filter(({ tier }) => tier === 'taken');
          const asked = all.filter(({ tier }) => tier === 'unsure').length;
          const ignored = all.filter(
            ({ tier, best }) => best !== TIME && (tier === 'unknown' || tier === 'noise'),
          ).length;
          const [from, to] = rareEvents(taken.length).map((count) => (count / hours(all)).toFixed(1));
          const numbers = taken.filter(({ best }) => hasNumber(best!)).length;
          return `${(taken.length / hours(all)).toFixed(1)} (${from}–${to}) / ${(asked / hours(all)).toFixed(1)} / ${(ignored / hours(all)).toFixed(0)} / ${numbers}`;
        }),
      ];
    });
    return `${head}\n\n${markdown(['set', 'voices', 'noise', 'time', ...this.#ears], cells)}`;
  }

  /** How often the first ear's nearest sentence is right, by its confidence, as an SVG picture. */
  picture(): string {
    const [ear] = this.#ears;
    const outcomes = [...this.#rows.values()].flatMap(({ of }) => of.get(ear!)!);
    return picture(tenths(outcomes), `How often ${ear} is right, by its confidence`);
  }

  #reliability(rows: readonly Row[]): string {
    const columns = this.#ears.map((ear) => tenths(rows.flatMap(({ of }) => of.get(ear)!)));
    const cells = columns[0]!.map(({ from }, k) => [
      `${from}–${(k + 1) / 10}`,
      ...columns.map((column) => `${share(column[k]!.right, column[k]!.n)} of ${column[k]!.n}`),
    ]);
    return `How often the nearest sentence is right, by its confidence, %; all rows above\n\n${markdown(['confidence', ...this.#ears], cells)}`;
  }

  #cost(rows: readonly Row[]): string {
    const cells = this.#ears.map((ear) => {
      const all = rows.flatMap(({ of }) => of.get(ear)!);
      const spent = all.reduce((sum, { ms }) => sum + ms, 0) / 1000;
      return `${percent(spent / all.reduce((sum, { seconds }) => sum + seconds, 0))} %`;
    });
    return `Computing, share of real time on this machine as busy as it was\n\n${markdown(['', ...this.#ears], [['all rows above', ...cells]])}`;
  }

  #errors(rows: readonly Row[]): string {
    const lists = this.#ears.map((ear) => {
      const times = new Map<string, number>();
      for (const { said, best, same, tier } of rows.flatMap(({ of }) => of.get(ear)!)) {
        if (same) continue;
        const [error, more] = difference(said, best ?? '');
        const key = `${error}${more}${tier === 'taken' ? ', taken' : ''}`;
        times.set(key, (times.get(key) ?? 0) + 1);
      }
      const common = [...times].sort((a, b) => b[1] - a[1]).slice(0, 20);
      return `Commonest errors of ${ear}: ${common.map(([error, n]) => `${error} (${n})`).join('; ')}.`;
    });
    return lists.join('\n\n');
  }
}
