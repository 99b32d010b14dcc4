// Finds out what has to be measured: every sentence that mechanics say, with each list that it is said against.
import { outgoing } from '../../../src/phrases/wordgraph.ts';
import { demoSheets } from '../../../src/trade/demos.ts';
import { chance } from '../hearing/statistics.ts';
import type { Measured, Wanted } from './measured.ts';
import { emptyTally, type SimulatedEar, simulate } from './simulation.ts';

const SESSIONS = 60;

/** Every sentence that mechanics say at every state that they come to with an ear that errs in every way. */
async function scout(): Promise<Map<string, Map<string, Wanted>>> {
  const found = new Map<string, Map<string, Wanted>>();
  const next = chance('scouts');
  const ear: SimulatedEar = async (wanted) => {
    const of = found.get(wanted.said) ?? new Map();
    found.set(wanted.said, of.set(wanted.list.name, wanted));
    const how = next();
    if (how < 0.86) return { tier: how < 0.8 ? 'taken' : 'unsure', text: wanted.said };
    return how < 0.93 ? { tier: 'unknown', text: null } : { tier: 'taken', text: anything(wanted, next) };
  };
  for (let k = 0; k < SESSIONS; k++)
    await simulate(demoSheets[k % 2]!, ear, { misses: 0.05 }, next, emptyTally(), k % 4 > 1);
  return found;
}

/** Some sentence of a list. */
export function anything({ list: { graph } }: Pick<Wanted, 'list'>, next: () => number): string {
  const out = outgoing(graph);
  const words: string[] = [];
  for (let at = 0; out[at]!.length > 0; ) {
    const arc = out[at]![Math.floor(next() * out[at]!.length)]!;
    words.push(arc.word);
    at = arc.to;
  }
  return words.join(' ');
}

/** Measures what the scouts said, by one voice after the other. */
export async function measureAll(
  measured: Measured,
  progress: (started: number, what: string) => void,
): Promise<void> {
  const found = await scout();
  const started = performance.now();
  const before = measured.rows.length;
  measured.prepare([...found.keys()]);
  for (const voice of measured.voices) {
    let done = 0;
    for (const [said, lists] of found) {
      await measured.measure(said, [...lists.values()], [voice]);
      if (++done % 10 === 0 && measured.rows.length > before)
        progress(started, `${voice}, ${done} of ${found.size} sentences measured`);
    }
  }
}
