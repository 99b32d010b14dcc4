// The whole machine, walked by model: every state that can be come to on a small engine, and every entry in it.
import { describe, expect, it } from 'vitest';
import { getAdjacencyMap, getShortestPaths } from 'xstate/graph';
import { prompt } from '../phrases/prompts.ts';
import { readBack } from '../phrases/readback.ts';
import { demoSheets } from '../trade/demos.ts';
import { readSheet } from '../trade/sheet.ts';
import { dueValve, needsCrank, type Opening } from './book.ts';
import type { EntryType } from './entry.ts';
import { type Event, fold, type Going, goingOn, type Moment } from './fold.ts';
import { procedure } from './machine.ts';
import { STEPS, type StepName } from './steps.ts';

/** Two cylinders with two valves each; everything that a sheet may ask for is asked for. */
function tinySheet() {
  const pump = demoSheets[1]!;
  const few = (cylinder: number) => cylinder <= 2;
  const result = readSheet({
    ...pump,
    cylinders: pump.cylinders.filter(({ number }) => few(number)),
    valves: pump.valves.filter(({ cylinder }) => few(cylinder)),
    firingOrder: [1, 2],
    sealant: { what: 'a bead of sealant', where: 'at the corners' },
    gasket: { always: 'may be used again' },
    survey: 'ask',
    set: 'ask',
    cautions: [],
  });
  if (!result.ok) throw new Error(result.faults.join(' '));
  return result.sheet;
}

const opening: Opening = {
  sheet: tinySheet(),
  mechanic: 'Mechanic',
  inspector: 'Inspector',
  instruments: [{ what: 'feeler gauge', id: 'F 1', due: '2099-01-01' }],
  openedAt: '2026-01-02T08:00:00Z',
};

const stamp = { seq: 1, at: '2026-01-02T08:00:00Z', who: 'Mechanic' };
const thou = (value: number) => ({ value, unit: 'thou' as const });
const gauged = { type: 'gauged', valve: null } as const;

/** What is tried in every state. The type makes sure that no kind of entry is left out. */
const TRIED: Record<EntryType, readonly Event[]> = {
  done: [{ ...stamp, type: 'done' }],
  affirm: [{ ...stamp, type: 'affirm' }],
  negative: [{ ...stamp, type: 'negative' }],
  counted: [1, 6].map((number) => ({ ...stamp, type: 'counted', number })),
  brought: [{ ...stamp, type: 'brought', number: 1, what: null }],
  markSeen: [
    { ...stamp, type: 'markSeen', cylinder: null },
    { ...stamp, type: 'markSeen', cylinder: 2 },
  ],
  overshot: [{ ...stamp, type: 'overshot' }],
  rocked: (['all', 'some', 'none'] as const).map((play) => ({ ...stamp, type: 'rocked', play })),
  watched: (['resting', 'moving'] as const).map((valves) => ({ ...stamp, type: 'watched', valves })),
  gauged: [
    { ...stamp, ...gauged, reading: thou(10), feel: 'light' },
    { ...stamp, ...gauged, reading: thou(16), feel: 'light' },
    { ...stamp, ...gauged, reading: thou(16), feel: null },
    { ...stamp, ...gauged, reading: null, feel: 'light' },
  ],
  proofed: (['pass', 'too wide'] as const).map((verdict) => ({
    ...stamp,
    type: 'proofed',
    valve: null,
    verdict,
  })),
  loosened: [{ ...stamp, type: 'loosened', valve: null }],
  nipped: [{ ...stamp, type: 'nipped', valve: null }],
  dragChanged: [{ ...stamp, type: 'dragChanged', valve: null }],
  torqued: [{ ...stamp, type: 'torqued', valve: null }],
  marked: [{ ...stamp, type: 'marked', valve: null }],
  play: [true, false].map((has) => ({ ...stamp, type: 'play', valve: null, has })),
  choose: (['all', 'outside'] as const).map((set) => ({ ...stamp, type: 'choose', set })),
  skip: [{ ...stamp, type: 'skip', valve: 'intake-1', reason: 'seized' }],
  gasket: (['good', 'old', 'new'] as const).map((is) => ({ ...stamp, type: 'gasket', is })),
  leak: [true, false].map((found) => ({ ...stamp, type: 'leak', found })),
  signed: [{ ...stamp, type: 'signed' }],
  inspected: [{ ...stamp, who: 'Inspector', type: 'inspected' }],
  lost: [{ ...stamp, type: 'lost' }],
  goBack: [{ ...stamp, type: 'goBack' }],
  stop: [{ ...stamp, type: 'stop' }],
  sayAgain: [{ ...stamp, type: 'sayAgain' }],
  standBy: [{ ...stamp, type: 'standBy' }],
  carryOn: [{ ...stamp, type: 'carryOn' }],
  correction: [{ ...stamp, type: 'correction' }],
};
/** These enter nothing themselves: they lead. */
const LEADS = new Set('negative stop sayAgain standBy carryOn correction goBack lost doubted'.split(' '));
const doubted: Event = { ...stamp, type: 'doubted', entry: { ...gauged, reading: thou(10), feel: 'light' } };
const events: Event[] = [...Object.values(TRIED).flat(), doubted];

/** Two moments count as one state where the same is due and the valves are as far; interruptions only keep the step. */
function serializeState(moment: Moment): string {
  const book = moment.context;
  const going = goingOn(moment);
  const { step, nth, round, station, place, toSet, crank, referenceFor } = book;
  if (going !== 'work') return [going, step, book.pending?.type, book.crankDoubt].join(' ');
  const phases = Object.values(book.valves).map((valve) => (valve.skipped ? 'left out' : valve.phase));
  return JSON.stringify([step, nth, round, station, place, toSet, crank, referenceFor, phases]);
}

const options = { input: opening, events, serializeState };

describe('the machine on a small engine', () => {
  const map = getAdjacencyMap(procedure, options);
  const states = Object.values(map).map(({ state }) => state as Moment);
  const edges = Object.values(map).flatMap(({ state, transitions }) =>
    Object.values(transitions as Record<string, { event: Event; state: Moment }>).map((edge) => ({
      from: state as Moment,
      event: edge.event,
      to: edge.state,
    })),
  );
  type Edge = (typeof edges)[number];
  /** Where something goes wrong, in words that lead there. */
  const where = (isWrong: (edge: Edge) => boolean) =>
    edges.filter(isWrong).map(({ from, event }) => `${serializeState(from)} → ${event.type}`);

  it('comes to every step of the work and to every interruption', () => {
    const steps = new Set<StepName>();
    const goings = new Set<Going>();
    for (const state of states) {
      goings.add(goingOn(state));
      if (goingOn(state) === 'work') steps.add(state.context.step);
    }
    expect(STEPS.filter((step) => !steps.has(step))).toEqual([]);
    expect([...goings].sort()).toEqual(['asking', 'offer', 'standBy', 'still', 'stopped', 'work']);
    expect(steps.size).toBe(41);
    console.log(
      `${steps.size} of ${STEPS.length} steps, ${goings.size} of 6 ways of going on, ${states.length} states`,
    );
  });

  it('takes every kind of entry in some state, and refuses every kind in another', () => {
    const taken = new Set<string>();
    const refused = new Set<string>();
    for (const { event, to } of edges) {
      const { reply } = to.context;
      if (reply.kind === 'refused') refused.add(event.type);
      else if (reply.kind === 'entered') taken.add(reply.entry.type);
      else if (LEADS.has(event.type)) taken.add(event.type);
    }
    const all = [...Object.keys(TRIED), 'doubted'];
    expect(all.filter((type) => !taken.has(type))).toEqual([]);
    expect(all.filter((type) => !refused.has(type))).toEqual([]);
    console.log(`${taken.size} of ${all.length} kinds of entry, ${edges.length} entries tried`);
  });

  it('is never without something to say, and never about something that is not there', () => {
    const hollow = /undefined|null|NaN/;
    const dumb = ({ to }: Edge) => {
      const asks = prompt(to.context, goingOn(to));
      return asks === '' || hollow.test(asks) || hollow.test(readBack(to.context));
    };
    expect(where(dumb)).toEqual([]);
  });

  it('never measures a loosened valve as found', () => {
    expect(
      where(({ to }) => to.context.step === 'gauge' && dueValve(to.context)?.everLoosened === true),
    ).toEqual([]);
  });

  it('changes no fact where it refuses, asks or repeats', () => {
    const still = new Set(['refused', 'asked', 'again']);
    const changes = ({ from, to }: Edge) =>
      still.has(to.context.reply.kind) &&
      (['valves', 'tally', 'kept', 'step', 'crank', 'findings'] as const).some(
        (fact) => to.context[fact] !== from.context[fact],
      );
    expect(where(changes)).toEqual([]);
  });

  it('knows where the crank stands whenever a valve is due', () => {
    const REFERENCE = /^reference/;
    const blind = states.filter(
      (state) =>
        goingOn(state) === 'work' &&
        needsCrank(state.context) &&
        !REFERENCE.test(state.context.step) &&
        state.context.crank === null,
    );
    expect(blind.map(serializeState)).toEqual([]);
  });

  it('judges the stroke by play only while nothing is loosened', () => {
    const wrong = states.filter(
      ({ context }) =>
        context.step === 'referencePlay' && Object.values(context.valves).some((valve) => valve.everLoosened),
    );
    expect(wrong.map(serializeState)).toEqual([]);
  });

  it('comes to the same state again when the shortest way to it is gone anew from storage', () => {
    const paths = getShortestPaths(procedure, options);
    expect(paths.length).toBe(states.length);
    // The farthest state of each step and interruption stands for those on the way.
    const farthest = new Map(
      paths
        .sort((a, b) => a.steps.length - b.steps.length)
        .map((path) => [`${goingOn(path.state as Moment)} ${(path.state as Moment).context.step}`, path]),
    );
    for (const { state, steps } of farthest.values()) {
      const said = steps.map(({ event }) => event as Event).filter(({ seq }) => seq !== undefined);
      const again = fold(opening, JSON.parse(JSON.stringify(said)));
      expect(serializeState(again)).toBe(serializeState(state as Moment));
    }
    console.log(`${farthest.size} steps and interruptions of steps come to anew`);
  });
});
