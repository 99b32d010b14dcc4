// Every state that a data sheet's plan can come to, found by going through it smoothly and roughly with a mechanic.

import type { Opening } from '../src/procedure/book.ts';
import type { Entry } from '../src/procedure/entry.ts';
import { after, begin, type Event, goingOn, type Moment, placeName } from '../src/procedure/fold.ts';
import type { Sheet } from '../src/trade/sheet.ts';
import { Refusal } from './files.ts';
import { answer, meant } from './mechanic.ts';

/** Stated defaults of rehearsals: invented people and instruments, and a clock that begins here. */
export const rehearsal = (sheet: Sheet): Opening => ({
  sheet,
  mechanic: 'Mechanic',
  inspector: 'Inspector',
  instruments: [
    { what: 'feeler gauge', id: 'F 1', due: '2099-01-01' },
    { what: 'torque wrench', id: 'T 1', due: '2099-01-01' },
  ],
  openedAt: '2026-01-01T08:00:00Z',
});

/** What goes wrong once at each place that it can. */
const MISHAPS: Partial<Record<string, readonly Entry[]>> = {
  referencePlay: [
    { type: 'rocked', play: 'none' },
    { type: 'rocked', play: 'some' },
  ],
  gaugeAgain: [{ type: 'gauged', valve: null, reading: { value: 0.01, unit: 'mm' }, feel: null }],
  proof: [{ type: 'proofed', valve: null, verdict: 'too wide' }],
  compare: [{ type: 'negative' }],
  leakRun: [{ type: 'leak', found: true }],
};

/** Entries of a plan that comes to no end. */
const LONGEST = 10_000;

/** The states by name, each at the first moment that it was met. */
export function everyState(sheet: Sheet): Map<string, Moment> {
  const states = new Map<string, Moment>();
  for (const moment of everyMoment(sheet)) {
    const name = placeName(moment);
    if (!states.has(name)) states.set(name, moment);
  }
  return states;
}

/** Every moment of both walks, with the interruptions and doubts of each. */
export function* everyMoment(sheet: Sheet): Generator<Moment> {
  for (const rough of [false, true]) yield* walk(sheet, rough);
}

function* walk(sheet: Sheet, rough: boolean): Generator<Moment> {
  const mishaps = new Map<string, number>();
  let seq = 1;
  const stamp = (entry: Entry) => ({
    seq: ++seq,
    at: '2026-01-01T08:00:00Z',
    who: entry.type === 'inspected' ? 'Inspector' : 'Mechanic',
  });
  const stamped = (entry: Entry): Event => ({ ...entry, ...stamp(entry) });
  let moment = begin(rehearsal(sheet));
  for (let nth = 0; nth < LONGEST; nth++) {
    yield moment;
    for (const detour of DETOURS) yield detour.reduce((at, entry) => after(at, stamped(entry)), moment);
    const words = answer(moment.context, goingOn(moment));
    if (words === null) return;
    let entry = meant(moment.context, goingOn(moment), words);
    // Whatever is heard doubtfully is asked back.
    if (goingOn(moment) === 'work') yield after(moment, { type: 'doubted', entry, ...stamp(entry) });
    const name = placeName(moment);
    const times = mishaps.get(name) ?? 0;
    const mishap = goingOn(moment) === 'work' ? MISHAPS[moment.context.step]?.[times] : undefined;
    if (rough && mishap) {
      mishaps.set(name, times + 1);
      entry = mishap;
    }
    moment = after(moment, stamped(entry));
  }
  throw new Refusal(`The plan of this sheet comes to no end: it is still at ${placeName(moment)}.`);
}

const DETOURS: readonly (readonly Entry[])[] = [
  [{ type: 'standBy' }],
  [{ type: 'stop' }],
  [{ type: 'standBy' }, { type: 'carryOn' }],
  [{ type: 'stop' }, { type: 'carryOn' }, { type: 'negative' }],
];
