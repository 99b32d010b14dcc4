// What must hold whatever is said, in whatever order: random walks by an erring mechanic on both demonstration engines,
// and the rules of the trade as a table of short scenes. Where no source is named, a rule is common practice.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { meaningOf } from '../src/phrases/grammar.ts';
import { readBack } from '../src/phrases/readback.ts';
import { vocabulary } from '../src/phrases/vocabulary.ts';
import {
  type Book,
  dueStation,
  dueValve,
  FASTENERS,
  insideLimits,
  type Kept,
  type Opening,
  TURNING_TOOL,
  timesSetAgain,
} from '../src/procedure/book.ts';
import type { Entry } from '../src/procedure/entry.ts';
import { after, begin, type Event, fold, goingOn, type Moment } from '../src/procedure/fold.ts';
import { STEPS, type StepName } from '../src/procedure/steps.ts';
import { demoSheets } from '../src/trade/demos.ts';
import { type Sheet, valveId } from '../src/trade/sheet.ts';
import { answer } from '../tools/mechanic.ts';

const [clinic, pump] = demoSheets as [Sheet, Sheet];
const at = '2026-01-02T08:00:00Z';
const openingOf = (sheet: Sheet, more: Partial<Opening> = {}): Opening => ({
  sheet,
  mechanic: 'Mechanic',
  inspector: 'Inspector',
  instruments: [{ what: 'feeler gauge', id: 'F 1', due: '2099-01-01' }],
  openedAt: at,
  ...more,
});

/** The right answer of the practised mechanic. */
function right(moment: Moment): Entry | null {
  const going = goingOn(moment);
  const words = answer(moment.context, going);
  return words === null ? null : meaningOf(vocabulary(moment.context, going), words);
}
const byWhom = (entry: Entry) => (entry.type === 'inspected' ? 'Inspector' : 'Mechanic');
const isClosing = (step: StepName) => STEPS.indexOf(step) >= STEPS.indexOf('gasketFit');

// An erring mechanic: mostly the right answer, else anything at all

type Turn = { right: true } | { right: false; entry: Entry; doubted: boolean; who: string };

function anything(sheet: Sheet): fc.Arbitrary<Entry> {
  const { unit } = sheet.clearance.intake.wanted;
  const other = unit === 'mm' ? 'thou' : 'mm';
  const figures = (['intake', 'exhaust'] as const).flatMap((side) => {
    const { wanted, minus, plus } = sheet.clearance[side];
    return [wanted.value, wanted.value + 3 * plus, wanted.value - minus].map((value) => ({ value, unit }));
  });
  const reading = fc.constantFrom(
    ...figures,
    { value: unit === 'mm' ? 10 : 0.25, unit: other } as const,
    null,
  );
  const valve = fc.oneof(
    { arbitrary: fc.constant(null), weight: 6 },
    { arbitrary: fc.constantFrom(...sheet.valves.map(valveId)), weight: 1 },
  );
  const type = <T extends string>(...types: T[]) => fc.constantFrom(...types);
  const gauged = fc.record({
    type: type('gauged'),
    valve,
    reading,
    feel: fc.constantFrom('light', null, 'tight', 'loose'),
  });
  return fc.oneof(
    {
      arbitrary: fc.record({
        type: type('correction', 'goBack', 'lost', 'stop', 'standBy', 'carryOn', 'sayAgain'),
      }),
      weight: 8,
    },
    {
      arbitrary: fc.record({ type: type('done', 'affirm', 'negative', 'overshot', 'signed', 'inspected') }),
      weight: 6,
    },
    { arbitrary: gauged, weight: 5 },
    {
      arbitrary: fc.record({ type: type('loosened', 'nipped', 'dragChanged', 'torqued', 'marked'), valve }),
      weight: 5,
    },
    {
      arbitrary: fc.record({ type: type('skip'), valve, reason: type('seized', 'out of reach') }),
      weight: 2,
    },
    {
      arbitrary: fc.record({ type: type('proofed'), valve, verdict: type('pass', 'too wide', 'too tight') }),
      weight: 3,
    },
    { arbitrary: fc.record({ type: type('play'), valve, has: fc.boolean() }), weight: 3 },
    { arbitrary: fc.record({ type: type('counted'), number: fc.integer({ min: 0, max: 13 }) }), weight: 1 },
    {
      arbitrary: fc.record({
        type: type('brought'),
        number: fc.integer({ min: 0, max: 2 }),
        what: fc.constantFrom(null, 'tools', 'towels', 'ladders'),
      }),
      weight: 1,
    },
    { arbitrary: fc.record({ type: type('markSeen'), cylinder: fc.constantFrom(null, 1, 2, 3) }), weight: 3 },
    { arbitrary: fc.record({ type: type('rocked'), play: type('all', 'some', 'none') }), weight: 10 },
    { arbitrary: fc.record({ type: type('watched'), valves: type('resting', 'moving') }), weight: 5 },
    { arbitrary: fc.record({ type: type('choose'), set: type('all', 'outside') }), weight: 1 },
    { arbitrary: fc.record({ type: type('gasket'), is: type('good', 'damaged', 'new', 'old') }), weight: 1 },
    { arbitrary: fc.record({ type: type('leak'), found: fc.boolean() }), weight: 14 },
  ) as fc.Arbitrary<Entry>;
}

function turns(sheet: Sheet, length: number): fc.Arbitrary<Turn[]> {
  const wrong = fc.record({
    right: fc.constant(false as const),
    entry: anything(sheet),
    doubted: fc.oneof(
      { arbitrary: fc.constant(false), weight: 7 },
      { arbitrary: fc.constant(true), weight: 1 },
    ),
    who: fc.constantFrom('Mechanic', 'Mechanic', 'Inspector'),
  });
  const turn: fc.Arbitrary<Turn> = fc.oneof(
    { arbitrary: fc.constant({ right: true as const }), weight: 17 },
    { arbitrary: wrong, weight: 3 },
  );
  return fc.array(turn, { minLength: length, maxLength: length, size: 'max' });
}

interface Walk {
  readonly opening: Opening;
  readonly events: Event[];
  readonly moments: Moment[];
}

/** Goes a walk; `moments[k]` is how it stood after the first k events. */
function go(opening: Opening, turns: readonly Turn[]): Walk {
  const events: Event[] = [];
  const moments = [begin(opening)];
  for (const turn of turns) {
    const moment = moments.at(-1)!;
    const entry = turn.right ? right(moment) : turn.entry;
    if (!entry) break;
    const stamp = { seq: events.length + 1, at, who: turn.right ? byWhom(entry) : turn.who };
    const event: Event =
      !turn.right && turn.doubted ? { type: 'doubted', entry, ...stamp } : { ...entry, ...stamp };
    events.push(event);
    moments.push(after(moment, event));
  }
  return { opening, events, moments };
}

/** Some walks begin well, so that the late steps are gone through in disorder as well. */
const STARTS = [0, 20, 60, 100, 140];
const SEED = 20260102;
const walks: Walk[] = demoSheets.flatMap((sheet) =>
  fc
    .sample(fc.tuple(fc.constantFrom(...STARTS), turns(sheet, 190)), { seed: SEED, numRuns: 130 })
    .map(([start, erring]) => go(openingOf(sheet), [...Array<Turn>(start).fill({ right: true }), ...erring])),
);

/** Checks every moment of every walk; a failure tells what was said last. */
function always(check: (book: Book, moment: Moment, k: number, walk: Walk) => void) {
  for (const walk of walks) {
    walk.moments.forEach((moment, k) => {
      try {
        check(moment.context, moment, k, walk);
      } catch (fault) {
        const said = walk.events.slice(Math.max(0, k - 12), k).map((event, n) => {
          const { seq: _, at: __, ...rest } = event;
          return `  ${walk.moments[Math.max(0, k - 12) + n]!.context.step}: ${JSON.stringify(rest)}`;
        });
        throw new Error(`${(fault as Error).message}\nafter\n${said.join('\n')}`, { cause: fault });
      }
    });
  }
}

/** What was done to one valve: what was gone back on counts no more, but a screw or nut that was turned was turned. */
function storyOf(book: Book, valve: string): Kept[] {
  const turned: readonly StepName[] = ['loosen', 'loosenAgain', 'setDrag', 'nip', 'torque'];
  return book.kept.filter((kept) => kept.valve === valve && (!kept.superseded || turned.includes(kept.step)));
}

/** Found outside, without play, or not passing: only loosening leads on. */
const fails = (book: Book, { step, entry, valve }: Kept): boolean =>
  (step === 'proof' && entry.type === 'proofed' && entry.verdict !== 'pass') ||
  (step === 'playCheck' && entry.type === 'play' && !entry.has) ||
  ((step === 'gaugeAgain' || step === 'proof') &&
    entry.type === 'gauged' &&
    entry.reading !== null &&
    (entry.feel ?? 'light') === 'light' &&
    !insideLimits(book, book.valves[valve!]!, entry.reading));

const holds = (book: Book, kept: Kept): boolean =>
  kept.entry.type === 'gauged' &&
  kept.entry.feel !== 'tight' &&
  kept.entry.feel !== 'loose' &&
  (kept.entry.reading ?? book.blade ?? null) !== null &&
  insideLimits(book, book.valves[kept.valve!]!, kept.entry.reading ?? book.blade!);

/** Whether the steps were gone through in this order, others between them allowed. */
function inOrderDone(book: Book, story: readonly Kept[]): boolean {
  const last = story.findLastIndex((kept) => kept.entry.type === 'loosened');
  const wanted: ((kept: Kept) => boolean)[] = [
    ({ entry, step }) => step === 'setDrag' && entry.type === 'gauged' && entry.feel === 'light',
    ({ entry, step }) => step === 'nip' && entry.type === 'nipped',
    ({ entry, step }) => step === 'torque' && entry.type === 'torqued',
    (kept) => kept.step === 'gaugeAgain' && holds(book, kept),
    ({ entry, step }) => step === 'paint' && entry.type === 'marked',
    ({ entry, step }) => step === 'playCheck' && entry.type === 'play' && entry.has,
    (kept) =>
      kept.step === 'proof' &&
      (holds(book, kept) || (kept.entry.type === 'proofed' && kept.entry.verdict === 'pass')),
  ];
  let due = 0;
  for (const kept of story.slice(last + 1)) if (wanted[due]?.(kept)) due++;
  return due === wanted.length;
}

describe('whatever is said', () => {
  it('is walked through to the end, in every step and interruption', () => {
    const steps = new Set(walks.flatMap(({ moments }) => moments.map(({ context }) => context.step)));
    const goings = new Set(walks.flatMap(({ moments }) => moments.map(goingOn)));
    const closed = walks.filter(({ moments }) => moments.at(-1)!.context.step === 'closed').length;
    const entries = walks.reduce((sum, { events }) => sum + events.length, 0);
    expect(STEPS.filter((step) => !steps.has(step))).toEqual([]);
    expect(goings.size).toBe(6);
    expect(closed).toBeGreaterThan(20);
    expect(entries).toBeGreaterThan(20_000);
    console.log(`${entries} entries in ${walks.length} walks, ${closed} to the end, ${steps.size} steps`);
  });

  it('no cover goes on before every valve is proved, or was never loosened and is left out with a reason', () => {
    always((book) => {
      if (!isClosing(book.step)) return;
      for (const valve of Object.values(book.valves)) {
        const proved = valve.phase === 'proved' && valve.left !== null && !valve.skipped;
        const leftOut = !valve.everLoosened && valve.skipped !== null;
        expect(proved || leftOut, `${valve.id} is ${valve.phase}`).toBe(true);
      }
    });
  });

  it('a loosened valve is set, nipped, torqued, gauged inside, marked, played and proved after its last loosening', () => {
    always((book, _, k, { moments }) => {
      if (book.step !== 'gasketFit' || moments[k - 1]!.context.step === 'gasketFit') return;
      for (const valve of Object.values(book.valves).filter((each) => each.everLoosened)) {
        const story = storyOf(book, valve.id);
        const told = story.map(({ step, entry }) => `${step}: ${entry.type}`).join(', ');
        expect(inOrderDone(book, story), `${valve.id} — ${told}`).toBe(true);
      }
    });
  });

  it('a valve that failed is loosened before anything else is entered of it', () => {
    let failures = 0;
    always((book, moment, k, { moments }) => {
      const before = moments[Math.max(0, k - 1)]!.context;
      const last = book.kept.at(-1);
      if (book.kept.length > before.kept.length && last?.valve && fails(book, last)) {
        failures++;
        expect(book.valves[last.valve]!.phase).toBe('failed');
      }
      const due = goingOn(moment) === 'work' ? dueValve(book) : null;
      if (due?.phase === 'failed') expect(book.step).toBe('loosenAgain');
      // Only loosening or a correction ends a failure.
      for (const valve of Object.values(before.valves)) {
        if (valve.phase !== 'failed') continue;
        const now = book.valves[valve.id]!;
        expect(
          now.phase === 'failed' || now.loosenings > valve.loosenings || book.reply.kind === 'corrected',
        ).toBe(true);
      }
    });
    expect(failures).toBeGreaterThan(30);
  });

  it('a valve once loosened stays so, and can never be left out', () => {
    always((book, _, k, { moments }) => {
      const before = moments[Math.max(0, k - 1)]!.context.valves;
      for (const valve of Object.values(book.valves)) {
        if (!valve.everLoosened && before[valve.id]!.everLoosened) throw new Error(`${valve.id} forgotten`);
        if (valve.everLoosened && valve.skipped) throw new Error(`${valve.id} left out`);
      }
    });
  });

  it('nothing is loosened before the reference is found, and then the stroke is never judged by play', () => {
    always((book, _, k, { moments }) => {
      const loosened = Object.values(book.valves).some((valve) => valve.everLoosened);
      if (!loosened) return;
      expect(book.step).not.toBe('referencePlay');
      const first = moments.find(({ context }) => Object.values(context.valves).some((v) => v.everLoosened));
      if (first === moments[k]) expect(moments[k - 1]!.context.crank).not.toBeNull();
    });
  });

  it('a valve is gauged, set and proved only where the crank stands at its cylinder', () => {
    const work = new Set<StepName>(
      'gauge setDrag nip torque gaugeAgain paint playCheck proof'.split(' ') as StepName[],
    );
    always((book, moment) => {
      if (goingOn(moment) !== 'work' || !work.has(book.step)) return;
      expect(book.crank, book.step).toBe(dueStation(book).at);
      expect(dueValve(book)!.valve.cylinder).toBe(dueStation(book).cylinder);
    });
  });

  it('a round goes on in firing order, the first side of each cylinder first', () => {
    always((book, moment, k, { opening, moments }) => {
      const before = moments[Math.max(0, k - 1)]!.context;
      const onward = book.kept.length === before.kept.length + 1 && book.round === before.round;
      const [a, b] = [dueValve(before)?.valve, dueValve(book)?.valve];
      const isRound = goingOn(moment) === 'work' && book.step !== 'loosen' && before.step !== 'loosen';
      if (!onward || !isRound || !a || !b) return;
      const rank = ({ cylinder, side }: typeof a) =>
        2 * opening.sheet.firingOrder.indexOf(cylinder) + Number(side !== opening.sheet.firstSide);
      expect(rank(b)).toBeGreaterThanOrEqual(rank(a));
    });
  });

  it('nothing outside the limits, in the other unit, or doubted enters without a yes to the question', () => {
    always((book, _, k, { opening, events, moments }) => {
      const before = moments[Math.max(0, k - 1)]!.context;
      if (book.kept.length <= before.kept.length) return;
      const { type } = events[k - 1]!;
      const kept = book.kept.at(-1)!;
      expect(type).not.toBe('doubted');
      if (type === 'affirm' && before.pending) {
        expect(before.reply.kind).toBe('asked');
        expect(kept.entry.type).toBe(before.pending.type);
      } else if (kept.entry.type === 'gauged' && kept.entry.reading) {
        expect(kept.entry.reading.unit).toBe(opening.sheet.clearance.intake.wanted.unit);
        expect(insideLimits(opening, book.valves[kept.valve!]!, kept.entry.reading)).toBe(true);
      }
    });
  });

  it('what went in is counted out before the gasket goes on', () => {
    always((book) => {
      if (!isClosing(book.step)) return;
      const left = book.tally.filter((item) => item.what !== FASTENERS && item.out !== item.in);
      expect(left).toEqual([]);
      const things = [...book.sheet.counted.map((item) => item.what), FASTENERS, TURNING_TOOL];
      expect(book.tally.map((item) => item.what).sort()).toEqual(things.sort());
    });
  });

  it('the engine runs only after every check, and is signed only after a dry run, by two persons where two are asked for', () => {
    always((book) => {
      const done = book.kept.filter((kept) => !kept.superseded);
      const tightened = done.findLastIndex((kept) => kept.step === 'tighten');
      const checked = done.slice(tightened + 1).filter((kept) => kept.step === 'runChecks');
      if (['leakRun', 'sign', 'inspect', 'closed'].includes(book.step)) expect(checked.length).toBe(4);
      if (book.signedBy !== null) {
        const run = done.findLast((kept) => kept.step === 'leakRun');
        expect(run?.entry).toEqual({ type: 'leak', found: false });
      }
      if (book.step === 'closed' && book.sheet.inspection) {
        expect(book.inspectedBy).toBe('Inspector');
        expect(book.inspectedBy).not.toBe(book.signedBy);
      }
    });
  });

  it('a session broken off anywhere goes on from what was kept as if nothing had been', () => {
    const stored = (events: Event[]): Event[] => JSON.parse(JSON.stringify(events));
    for (const { opening, events, moments } of walks.filter((_, k) => k % 10 === 0)) {
      let reloaded = fold(opening, []);
      for (let k = 0; k < events.length; k += 13) {
        reloaded = fold(opening, stored(events.slice(0, k)));
        expect(reloaded.value).toEqual(moments[k]!.value);
        expect(reloaded.context).toEqual(moments[k]!.context);
      }
      const end = stored(events.slice(Math.floor((events.length - 1) / 13) * 13)).reduce(after, reloaded);
      expect(end.context).toEqual(moments.at(-1)!.context);
    }
  });

  it('a patient mechanic comes from anywhere to the signed record', () => {
    let longest = 0;
    const finish = (from: Moment) => {
      let moment = from;
      let entries = 0;
      for (; moment.context.step !== 'closed' || goingOn(moment) !== 'work'; entries++) {
        const entry = right(moment);
        if (!entry || entries > 320) throw new Error(`stuck at ${goingOn(moment)} ${moment.context.step}`);
        moment = after(moment, { ...entry, seq: entries + 1000, at, who: byWhom(entry) });
      }
      longest = Math.max(longest, entries);
      return moment.context;
    };
    walks.forEach(({ moments }, k) => {
      // From the end of each walk, and from a place on the way of some.
      const places =
        k % 4 === 0 ? [Math.floor((moments.length * (k % 7)) / 7), moments.length - 1] : [moments.length - 1];
      for (const place of places) {
        const book = finish(moments[place]!);
        expect(book.signedBy).not.toBeNull();
        expect(book.inspectedBy !== null).toBe(book.sheet.inspection);
      }
    });
    console.log(`at most ${longest} entries to the signed record`);
  });
});

// The rules of the trade, scene by scene

/** An engine to speak at: goes on rightly up to a step, and takes what is said there. */
class Scene {
  moment: Moment;
  private seq = 0;
  constructor(sheet: Sheet, more: Partial<Opening> = {}) {
    this.moment = begin(openingOf(sheet, more));
  }
  get book() {
    return this.moment.context;
  }
  get step() {
    return goingOn(this.moment) === 'work' ? this.book.step : goingOn(this.moment);
  }
  get answer() {
    return readBack(this.book);
  }
  take(entry: Entry, who = byWhom(entry)): this {
    this.moment = after(this.moment, { ...entry, seq: ++this.seq, at, who });
    return this;
  }
  doubt(entry: Entry): this {
    this.moment = after(this.moment, { type: 'doubted', entry, seq: ++this.seq, at, who: 'Mechanic' });
    return this;
  }
  /** In words; a sentence that is not in the list of the moment is a fault of the scene. */
  say(...sentences: string[]): this {
    for (const words of sentences) {
      const entry = meaningOf(vocabulary(this.book, goingOn(this.moment)), words);
      if (!entry) throw new Error(`"${words}" cannot be said at ${this.step}`);
      this.take(entry);
    }
    return this;
  }
  /** On to a step, by right answers. */
  to(step: StepName, times = 1): this {
    for (let seen = 0, k = 0; ; k++) {
      if (this.step === step && ++seen === times) return this;
      if (k > 400) throw new Error(`${step} was not reached`);
      this.take(right(this.moment)!);
    }
  }
}

describe('order', () => {
  it('cylinder three is refused while five is due, and the firing order is named', () => {
    const scene = new Scene(pump).to('turn').say('cylinder three mark seen');
    expect(scene.answer).toBe('No. cylinder five is due, not cylinder three. The firing order is kept.');
    expect(scene.step).toBe('turn');
    expect(scene.say('cylinder five mark seen').step).toBe('gauge');
  });

  it('another valve than the due one is refused by name', () => {
    const scene = new Scene(clinic).to('gauge').say('exhaust four bravo point four zero');
    expect(scene.answer).toBe('No. exhaust one alpha is due, not exhaust four bravo.');
    expect(scene.book.valves['exhaust-4-bravo']!.found).toBeNull();
  });

  it('the other side of the same cylinder is refused: the first side comes first', () => {
    const scene = new Scene(clinic).to('setDrag').say('intake one alpha point two five drag okay');
    expect(scene.book.reply).toMatchObject({ why: 'wrong valve', due: 'exhaust-1-alpha' });
    expect(scene.book.valves['intake-1-alpha']!.set).toBeNull();
  });

  it('leaving out names the due valve or none', () => {
    const scene = new Scene(pump).to('gauge').take({ type: 'skip', valve: 'exhaust-6', reason: 'seized' });
    expect(scene.book.reply).toMatchObject({ why: 'wrong valve' });
    expect(Object.values(scene.book.valves).some((valve) => valve.skipped)).toBe(false);
  });

  it('torque before the nut was nipped is refused', () => {
    const scene = new Scene(pump).to('nip').say('torqued');
    expect(scene.answer).toBe('Not now. First do what is due.');
    expect(scene.step).toBe('nip');
  });

  it('the proof of a valve set again is at the mark of its own cylinder', () => {
    const scene = new Scene(pump).to('proof', 3).say('too loose', 'affirm').to('proofAgain');
    const { cylinder } = dueStation(scene.book);
    expect(cylinder).toBe(5);
    expect(scene.say('cylinder one mark seen').book.reply).toMatchObject({ why: 'wrong cylinder', due: 5 });
    expect(scene.say('cylinder five mark seen').step).toBe('proof');
  });
});

describe('taking back', () => {
  it('a correction keeps both figures, and the new one counts', () => {
    const scene = new Scene(clinic).to('gauge').say('point three eight', 'correction');
    expect(scene.answer).toBe('Taken back: exhaust one alpha, 0.38 millimetres.');
    scene.say('point four two');
    expect(scene.book.valves['exhaust-1-alpha']!.found).toEqual({ value: 0.42, unit: 'mm' });
    const figures = scene.book.kept.filter((kept) => kept.entry.type === 'gauged');
    expect(figures.map((kept) => kept.superseded)).toEqual([true, false]);
  });

  it('of a nut that was loosened says that it still counts as loose', () => {
    const scene = new Scene(clinic).to('loosen').say('loosened', 'correction');
    expect(scene.answer).toBe(
      'Taken back: exhaust one alpha, loosened. It still counts as loose, and will be set.',
    );
  });

  it('is possible once after an entry, and not twice', () => {
    const scene = new Scene(clinic).to('gauge').say('point three eight', 'correction', 'correction');
    expect(scene.answer).toBe('There is nothing to take back. Say go back for earlier steps.');
  });

  it('of a mark seen leaves the crank where it was, so that it is still to be turned', () => {
    const scene = new Scene(pump).to('turn');
    const before = scene.book.crank;
    scene.say('mark seen', 'correction');
    expect(scene.step).toBe('turn');
    expect(scene.book.crank).toBe(before);
  });

  it('of a torqued nut asks for the torque again, for it may not have been done', () => {
    const scene = new Scene(pump).to('torque').say('torqued', 'correction');
    expect(scene.step).toBe('torque');
  });

  it('never leads past a lost reference', () => {
    const scene = new Scene(pump).to('setDrag').say('mark lost', 'correction');
    expect(scene.step).toBe('referenceTurn');
    expect(scene.to('setDrag').book.crank).toBe(dueStation(scene.book).at);
  });

  it('leaves a signed record as it is', () => {
    const scene = new Scene(clinic).to('closed').say('correction');
    expect(scene.step).toBe('closed');
    expect(scene.book.signedBy).toBe('Mechanic');
  });

  it('goes back three steps on request, without undoing what was done to the nut', () => {
    const scene = new Scene(pump).to('paint').say('go back');
    expect(scene.answer).toBe('Gone back.');
    expect(scene.step).toBe('gaugeAgain');
    expect(scene.book.kept.slice(-3).map((kept) => kept.superseded)).toEqual([true, true, true]);
  });

  it('a gauging and a mark from before the last loosening do not come back', () => {
    const scene = new Scene(pump).to('playCheck').say('no play', 'affirm').to('gaugeAgain');
    scene.say('go back', 'go back');
    expect(scene.step).toBe('gaugeAgain');
    expect(scene.book.valves['intake-1']!.phase).toBe('torqued');
  });

  it('there is no way back to judging the stroke by play once a nut is loose', () => {
    const scene = new Scene(pump).to('loosen').say('loosened', 'go back');
    expect(scene.step).toBe('loosen');
    expect(scene.say('go back').answer).toBe('There is nothing to take back.');
  });
});

describe('interruptions', () => {
  it('a stand-by offers to go back three steps, then asks whether the crank stayed', () => {
    const scene = new Scene(pump).to('nip').say('stand by', 'carry on');
    expect(scene.step).toBe('offer');
    expect(scene.say('negative').step).toBe('still');
    expect(scene.say('affirm').step).toBe('nip');
  });

  it('after a stop the reference is set up again, whoever says what of the crank', () => {
    for (const way of [['stop'], ['stand by', 'stop'], ['stop', 'carry on', 'stand by']]) {
      const scene = new Scene(pump).to('nip').say(...way, 'carry on', 'negative');
      expect(scene.step).toBe('referenceTurn');
      expect(scene.book.crank).toBeNull();
      expect(scene.answer).toBe('The reference is set up again.');
    }
  });

  it('a crank that moved leads through the reference, by movement, back to the same valve', () => {
    const scene = new Scene(pump).to('nip', 4);
    const due = dueValve(scene.book)!.id;
    scene.say('stand by', 'carry on', 'negative', 'negative', 'mark seen');
    expect(scene.step).toBe('referenceWatch');
    expect(dueValve(scene.to('setDrag').book)!.id).toBe(due);
  });

  it('a stand-by while the rockers are judged asks after the crank as well', () => {
    const scene = new Scene(pump).to('referencePlay').say('stand by', 'carry on', 'negative');
    expect(scene.step).toBe('still');
    expect(scene.say('negative').to('gauge').book.crank).toBe(0);
  });

  it('in stand-by only carry on and stop are understood, and nothing is entered', () => {
    const scene = new Scene(pump).to('gauge').say('stand by');
    expect(() => scene.say('ten thou')).toThrow('cannot be said');
    expect(scene.take({ type: 'done' }).book.reply).toMatchObject({ why: 'paused' });
    expect(scene.say('carry on', 'negative', 'affirm').step).toBe('gauge');
  });
});

describe('the reference', () => {
  it('no rocker has play: it is on the overlap, so one full turn on', () => {
    const scene = new Scene(pump).to('referencePlay').say('no play');
    expect(scene.step).toBe('referenceOn');
    expect(scene.say('mark seen').step).toBe('referencePlay');
  });

  it('some have play: a finding is kept, and the stroke is judged by movement', () => {
    const scene = new Scene(pump).to('referencePlay').say('play on some');
    expect(scene.step).toBe('referenceWatch');
    expect(scene.book.findings).toEqual(['closed-up valve at the reference']);
    expect(scene.say('moving').step).toBe('referenceOn');
  });

  it('no play at either dead centre is a finding, and the stroke is judged by movement', () => {
    const scene = new Scene(pump).to('referencePlay').say('no play', 'mark seen', 'no play');
    expect(scene.step).toBe('referenceWatch');
    expect(scene.book.findings).toEqual(['no play at either dead centre of the reference']);
  });

  it('is set up again after the survey', () => {
    const scene = new Scene(clinic).to('gauge', 16).say('point two five');
    expect(scene.step).toBe('referenceTurn');
    expect(scene.to('choice').book.crank).toBe(0);
  });

  it('another cylinder’s mark is refused', () => {
    expect(new Scene(pump).to('referenceTurn').say('cylinder six mark seen').answer).toContain(
      'cylinder one is due',
    );
  });
});

describe('what is set', () => {
  it('a survey declined is kept as not taken, and every valve is set', () => {
    const scene = new Scene(clinic).to('surveyChoice').say('negative');
    expect(scene.book.surveyed).toBe(false);
    expect(scene.book.toSet).toBe('all');
    expect(scene.to('loosen', 16).say('loosened').step).toBe('setDrag');
  });

  it('only those outside: only they are loosened, and all are proved', () => {
    const scene = new Scene(clinic)
      .to('gauge')
      .say('point five zero', 'affirm')
      .to('choice')
      .say('only outside');
    expect(scene.say('loosened').step).toBe('setDrag');
    scene.to('countOut');
    const loosened = Object.values(scene.book.valves).filter((valve) => valve.everLoosened);
    expect(loosened.map((valve) => valve.id)).toEqual(['exhaust-1-alpha']);
    expect(Object.values(scene.book.valves).every((valve) => valve.left !== null)).toBe(true);
  });

  it('a valve may be left out before it is loosened, with a reason', () => {
    const scene = new Scene(pump).to('loosen').say('skip seized');
    expect(scene.answer).toBe('Intake one, left out, seized. It will be listed as not done.');
    expect(scene.to('countOut').book.valves['intake-1']).toMatchObject({
      skipped: 'seized',
      phase: 'untouched',
    });
  });

  it('a loosened valve may not be left out', () => {
    const scene = new Scene(pump).to('proof').say('skip seized');
    expect(scene.answer).toBe('No. It was loosened, so it has to be set, torqued, gauged and proved.');
  });

  it('a blade alone, then its drag alone', () => {
    const scene = new Scene(clinic).to('setDrag').say('point four zero');
    expect(scene.step).toBe('setDrag');
    expect(scene.say('drag tight').answer).toBe('Too tight: screw out a little, then gauge again.');
    expect(scene.say('drag okay').step).toBe('nip');
    expect(scene.book.valves['exhaust-1-alpha']!.set).toEqual({ value: 0.4, unit: 'mm' });
  });

  it('a drag without a blade is refused', () => {
    expect(new Scene(clinic).to('setDrag').say('drag okay').answer).toBe(
      'Not entered. Name the blade first.',
    );
  });

  it('a drag that changed while nipping sets the valve again', () => {
    expect(new Scene(pump).to('nip').say('drag changed').step).toBe('setDrag');
  });

  it('a valve outside after the torque is loosened and set again', () => {
    const scene = new Scene(pump).to('gaugeAgain').say('fourteen', 'affirm');
    expect(scene.step).toBe('loosenAgain');
    expect(scene.book.valves['intake-1']).toMatchObject({ phase: 'failed', torqued: { value: 14 } });
    expect(scene.say('loosened').step).toBe('setDrag');
  });

  it('a valve that fails in proof is set again, marked anew, and proved after two turns of its own', () => {
    const scene = new Scene(pump).to('proof').say('too tight', 'affirm');
    expect(scene.step).toBe('loosenAgain');
    const steps: string[] = [];
    while (scene.step !== 'proof') {
      steps.push(scene.step);
      scene.take(right(scene.moment)!);
    }
    const way = [
      'loosenAgain',
      'setDrag',
      'nip',
      'torque',
      'gaugeAgain',
      'paint',
      'playCheck',
      'compare',
      'proofAgain',
    ];
    expect(steps).toEqual(way);
    expect(dueValve(scene.book)!.id).toBe('intake-1');
    expect(timesSetAgain(scene.book.valves['intake-1']!)).toBe(1);
  });

  it('a failed valve is loosened again, whatever comes between', () => {
    const failed = () => new Scene(pump).to('proof').say('too loose', 'affirm');
    expect(failed().say('mark lost', 'mark seen', 'resting').step).toBe('loosenAgain');
    expect(failed().say('stop', 'carry on', 'negative', 'mark seen', 'resting').step).toBe('loosenAgain');
    const outside = () => new Scene(pump).to('gaugeAgain').say('twenty', 'affirm');
    expect(outside().say('stand by', 'carry on', 'affirm', 'affirm').step).toBe('loosenAgain');
    const noPlay = new Scene(pump).to('playCheck').say('no play', 'affirm', 'go back');
    expect(noPlay.step).toBe('loosenAgain');
    expect(noPlay.to('setDrag').book.valves['intake-1']!.loosenings).toBe(2);
  });

  it('a failure that was misheard is taken back by a correction', () => {
    const scene = new Scene(pump).to('proof').say('too loose', 'affirm', 'correction', 'pass');
    expect(scene.book.valves['intake-1']).toMatchObject({ phase: 'proved', loosenings: 1 });
    expect(timesSetAgain(scene.book.valves['intake-1']!)).toBe(0);
  });

  it('sides that do not compare after a valve was set again in proof void the proofs of the cylinder', () => {
    const scene = new Scene(pump).to('proof', 2).say('too tight', 'affirm').to('compare').say('negative');
    expect(scene.step).toBe('gaugeAgain');
    const phases = ['intake-1', 'exhaust-1'].map((id) => scene.book.valves[id]!);
    expect(phases.map(({ phase, left }) => [phase, left])).toEqual([
      ['torqued', null],
      ['torqued', null],
    ]);
    expect(Object.values(scene.to('countOut').book.valves).every(({ phase }) => phase === 'proved')).toBe(
      true,
    );
  });

  it('a closed-up valve is kept as found without any gap, and is set', () => {
    const scene = new Scene(clinic).to('gauge').say('no gap');
    expect(scene.answer).toBe('Exhaust one alpha, no gap? That is outside the limits. Affirm or negative.');
    scene.say('affirm').to('choice').say('only outside');
    expect(dueValve(scene.book)!.id).toBe('exhaust-1-alpha');
    expect(scene.book.valves['exhaust-1-alpha']!.found).toEqual({ value: 0, unit: 'mm' });
  });

  it('only those outside where the sheet says so, without a question', () => {
    const scene = new Scene({ ...clinic, set: 'outside' }).to('gauge').say('point five zero', 'affirm');
    expect(scene.to('loosen').book.toSet).toBe('outside');
    expect(scene.book.kept.some(({ step }) => step === 'choice')).toBe(false);
  });

  it('sides that do not compare void the marks of the cylinder, and each valve is gauged again', () => {
    const scene = new Scene(pump).to('compare').say('negative');
    expect(scene.step).toBe('gaugeAgain');
    expect(scene.book.findings).toContain('play did not compare');
    const phases = ['intake-1', 'exhaust-1'].map((id) => scene.book.valves[id]!.phase);
    expect(phases).toEqual(['torqued', 'torqued']);
    expect(scene.to('paint').to('compare').say('affirm').step).toBe('turn');
  });

  it('a valve without play is asked about, and set again', () => {
    const scene = new Scene(pump).to('playCheck').say('no play');
    expect(scene.answer).toBe(
      'Intake one, no play? Without play the valve has to be set again. Affirm or negative.',
    );
    expect(scene.say('affirm').step).toBe('loosenAgain');
  });
});

describe('questions', () => {
  it('a figure in the other unit is asked with both figures', () => {
    const scene = new Scene(clinic).to('setDrag').say('sixteen thou drag okay');
    expect(scene.step).toBe('asking');
    expect(scene.answer).toBe(
      'Exhaust one alpha, 16 thou, that is 0.406 millimetres, light drag? Affirm or negative.',
    );
    expect(scene.say('affirm').step).toBe('nip');
  });

  it('a figure in the other unit that is outside as well is asked with both reasons', () => {
    const scene = new Scene(clinic).to('gaugeAgain').say('twenty four thou');
    expect(scene.answer).toBe(
      'Exhaust one alpha, 24 thou, that is 0.610 millimetres? That is outside the limits. Affirm or negative.',
    );
  });

  it('carry on answers no question, and takes none away', () => {
    const scene = new Scene(pump).to('gauge').say('sixteen', 'carry on');
    expect(scene.step).toBe('asking');
  });

  it('a figure outside is asked, and a no enters nothing', () => {
    const scene = new Scene(pump).to('gauge').say('sixteen');
    expect(scene.answer).toBe('Intake one, 16 thou? That is outside the limits. Affirm or negative.');
    expect(scene.say('negative').answer).toBe('Not entered.');
    expect(scene.book.valves['intake-1']!.found).toBeNull();
  });

  it('a blade outside the limits is never set, even with a yes', () => {
    const scene = new Scene(pump).to('setDrag').say('fourteen drag okay');
    expect(scene.answer).toBe('Not entered. That blade is outside the limits; the sheet wants 10 thou.');
  });

  it('what was heard doubtfully is asked, even where it is right', () => {
    const scene = new Scene(pump).to('torque').doubt({ type: 'torqued', valve: null });
    expect(scene.answer).toBe('Intake one, torqued? Affirm or negative.');
    expect(scene.book.valves['intake-1']!.locked).toBe(false);
    expect(scene.say('affirm').book.valves['intake-1']!.locked).toBe(true);
  });

  it('a yes to a doubtful valve that is not due is refused all the same', () => {
    const scene = new Scene(pump).to('torque').doubt({ type: 'torqued', valve: 'exhaust-6' }).say('affirm');
    expect(scene.book.reply).toMatchObject({ why: 'wrong valve' });
  });

  it('another number of fasteners than the sheet’s is asked', () => {
    const scene = new Scene(pump).to('coverOff').say('five fasteners');
    expect(scene.answer).toBe('5? That is not the number of the sheet. Affirm or negative.');
    expect(scene.say('affirm').step).toBe('gasketLook');
  });

  it('an overdue instrument is asked about', () => {
    const instruments = [{ what: 'torque wrench', id: 'T 1', due: '2025-12-31' }] as const;
    const scene = new Scene(pump, { instruments }).to('instruments').say('affirm');
    expect(scene.answer).toContain('overdue for calibration');
    expect(scene.say('affirm').step).toBe('countIn');
  });
});

describe('closing', () => {
  it('a tool that is missing keeps the cover off', () => {
    const scene = new Scene(pump).to('countOut').say('eleven');
    expect(scene.answer).toBe('11 out, but 12 went in. Find what is missing before the cover goes on.');
    expect(scene.step).toBe('countOut');
  });

  it('four towels are not taken for the tools', () => {
    expect(() => new Scene(pump).to('countOut').say('twelve towels')).toThrow('cannot be said');
  });

  it('what was brought in later is counted in as well', () => {
    const scene = new Scene(pump).to('setDrag').say('bring in one');
    expect(scene.answer).toBe('1 more tools brought in.');
    scene.to('countOut').say('twelve');
    expect(scene.answer).toBe('12 out, but 13 went in. Find what is missing before the cover goes on.');
    scene.say('fourteen');
    expect(scene.answer).toBe(
      '14 out, but 13 went in. Count again, or say bring in, and how many were brought later.',
    );
    expect(scene.say('bring in one tools', 'fourteen').book.tally[0]).toEqual({
      what: 'tools',
      in: 14,
      out: 14,
    });
  });

  it('nothing is brought in before the cover is off, nor after the count', () => {
    for (const step of ['countIn', 'packTowels', 'gasketFit', 'tighten'] as const)
      expect(() => new Scene(pump).to(step).say('bring in one')).toThrow('cannot be said');
  });

  it('fasteners that came off and do not go on again are asked about and kept as a finding', () => {
    const scene = new Scene(pump).to('coverOff').say('nine fasteners', 'affirm').to('handStart');
    const { fasteners } = pump.cover;
    scene.take({ type: 'counted', number: fasteners });
    expect(scene.answer).toContain('Is every one accounted for?');
    expect(scene.say('affirm').step).toBe('tighten');
    expect(scene.book.findings).toEqual(['not as many fasteners on as came off']);
  });

  it('an old gasket is refused where the sheet always wants a new one', () => {
    const scene = new Scene(pump).to('gasketFit').say('old gasket');
    expect(scene.answer).toBe('No. The old gasket may not be used again here. Fit a new one.');
  });

  it('a good old gasket is taken where the sheet allows it, a damaged one is not', () => {
    expect(new Scene(clinic).to('gasketFit').say('old gasket').step).toBe('sealant');
    const damaged = new Scene(clinic)
      .to('gasketLook')
      .say('gasket damaged')
      .to('gasketFit')
      .say('old gasket');
    expect(damaged.step).toBe('gasketFit');
    expect(damaged.say('new gasket').step).toBe('sealant');
  });

  it('a leak leads back to tightening and through all checks again', () => {
    const scene = new Scene(pump).to('leakRun').say('leak found', 'done');
    expect(scene.step).toBe('tighten');
    expect(scene.say('done', 'done', 'affirm', 'affirm', 'affirm').step).toBe('runChecks');
    expect(scene.say('affirm').step).toBe('leakRun');
    expect(scene.book.findings).toEqual(['leak on the first run']);
  });

  it('the one who signed may not inspect', () => {
    const scene = new Scene(pump).to('inspect').take({ type: 'inspected' }, 'Mechanic');
    expect(scene.answer).toBe('No. The inspector must be somebody else than the one who signed.');
    scene.take({ type: 'inspected' }, 'Inspector');
    expect(scene.answer).toBe(
      'Is it you, Inspector, who inspected, and did somebody else do the work? Affirm or negative.',
    );
    expect(scene.say('affirm').step).toBe('closed');
  });

  it('without an inspection on the sheet the signature closes', () => {
    expect(new Scene(clinic).to('sign').say('signed').step).toBe('closed');
  });
});

describe('before work', () => {
  it('the wrong engine, the wrong temperature and missing instruments go no further', () => {
    for (const step of ['identify', 'condition', 'instruments'] as const) {
      const scene = new Scene(pump).to(step).say('negative');
      expect(scene.book.reply.kind).toBe('refused');
      expect(scene.answer).toMatch(/^Then /);
      expect(scene.step).toBe(step);
    }
  });

  it('a sheet without tools to count in goes straight to clearing away', () => {
    const sheet = { ...clinic, counted: clinic.counted.filter((item) => item.when === 'towels') };
    expect(new Scene(sheet).to('instruments').say('affirm').step).toBe('clearAway');
  });
});
