// The book of one session: every fact that the procedure keeps, and the questions asked of it. All functions are pure.
import { inside, largerSide } from '../trade/gauge.ts';
import { type Station, stations, turnOn } from '../trade/positions.ts';
import { type Sheet, type Valve, type ValveId, valveId } from '../trade/sheet.ts';
import { type Clearance, type Degrees, degrees } from '../trade/units.ts';
import { CAUTIONS, ISOLATED, RUN_CHECKS } from './cautions.ts';
import type { Entry, Said, SkipReason, Stamp } from './entry.ts';
import { STEPS, type StepName } from './steps.ts';

/**
 * How far a valve has come. `gauged`: gauged again inside its limits after the nut was torqued. `failed`: outside after
 * the torque or in proof, or without play; only loosening leads on.
 */
export type Phase =
  | 'untouched'
  | 'failed'
  | 'loosened'
  | 'set'
  | 'nipped'
  | 'torqued'
  | 'gauged'
  | 'marked'
  | 'played'
  | 'proved';

export interface ValveRecord {
  readonly valve: Valve;
  readonly id: ValveId;
  readonly phase: Phase;
  /** Sticky: once loosened there is no way to the cover but set, torqued, gauged and proved. */
  readonly everLoosened: boolean;
  /** How often the nut was loosened; what was gauged or marked before the last time counts no more. */
  readonly loosenings: number;
  /** The locknut is torqued, as a fact of the engine that no correction undoes. */
  readonly locked: boolean;
  readonly skipped: SkipReason | null;
  readonly found: Clearance | null;
  readonly set: Clearance | null;
  readonly torqued: Clearance | null;
  /** The as-left figure: a reading, or go and no-go passed. */
  readonly left: Clearance | 'go and no-go' | null;
  /** It was torqued in the proof round: before its proof the crank is turned twice again. */
  readonly ownProof: boolean;
}

export interface Instrument {
  readonly what: 'feeler gauge' | 'torque wrench';
  readonly id: string;
  /** Calibration due, RFC 3339 date. */
  readonly due: string;
}

/** How the ear was fitted to the mechanic's voice, and the thresholds by which it then heard (docs/hearing.md). */
export interface FittedEar {
  /** When, RFC 3339. */
  readonly at: string;
  /** Times the plain θ. */
  readonly accepts: number;
  /** θ of long sentences (nats per phone), and the lead over the next sentence (nats). */
  readonly loss: number;
  readonly lead: number;
  /** Words of several pronunciations, with the mechanic's. */
  readonly says: Readonly<Record<string, string>>;
}

export interface Opening {
  readonly sheet: Sheet;
  readonly mechanic: string;
  /** Somebody else than the mechanic; needed where the sheet asks for an inspection. */
  readonly inspector: string | null;
  readonly instruments: readonly Instrument[];
  /** RFC 3339 */
  readonly openedAt: string;
  /** Every figure is asked back, not only the odd ones. */
  readonly askAlways?: boolean | undefined;
  /** Absent: the ear heard as it comes. */
  readonly fit?: FittedEar | undefined;
}

export interface Counted {
  readonly what: string;
  readonly in: number;
  readonly out: number | null;
}

/** One entry that was taken, and whether a later one took its place. */
export interface Kept extends Stamp {
  readonly step: StepName;
  readonly valve: ValveId | null;
  readonly entry: Entry;
  readonly superseded: boolean;
}

export type Round = 'found' | 'setting' | 'proof';
export type AskReason =
  | 'doubted'
  | 'outside'
  | 'other unit'
  | 'count'
  | 'fasteners differ'
  | 'no play'
  | 'overdue'
  | 'inspector';

/** Why an entry was not taken; a sentence is made of it in phrases. */
export type Refusal =
  | { why: 'not now'; said: Entry['type'] }
  | { why: 'wrong valve'; said: ValveId; due: ValveId }
  | { why: 'wrong cylinder'; said: number; due: number }
  | { why: 'outside' | 'no blade' }
  | { why: 'drag'; feel: 'tight' | 'loose' }
  | { why: 'loosened' }
  | { why: 'count'; what: string; in: number; said: number }
  | { why: 'gasket' | 'wrong engine' | 'condition' | 'instruments' | 'no inspector' }
  | { why: 'nothing to correct' | 'paused' | 'none counted' };

/** What is to be said about the last event. */
export type Reply =
  | { kind: 'opened' | 'withdrawn' | 'again' | 'stopped' | 'standingBy' | 'carryingOn' | 'wentBack' | 'lost' }
  | { kind: 'entered'; entry: Entry; valve: ValveId | null }
  | { kind: 'corrected'; entry: Entry; valve: ValveId | null }
  | { kind: 'asked'; entry: Entry; why: readonly AskReason[]; valve: ValveId | null }
  | ({ kind: 'refused' } & Refusal);

export interface Book extends Opening {
  readonly stations: readonly Station[];
  readonly valves: Readonly<Record<ValveId, ValveRecord>>;
  /** The step of the work, also while asking or paused. */
  readonly step: StepName;
  /** Which of several like things a step is at: caution, counted item, pass, check. */
  readonly nth: number;
  readonly tally: readonly Counted[];
  readonly round: Round;
  readonly station: number;
  /** Index in the station; null when the station is finished. */
  readonly place: number | null;
  /** Where the crank stands; null before the reference and when in doubt. */
  readonly crank: Degrees | null;
  /** Where the reference leads back to. */
  readonly referenceFor: 'surveyChoice' | 'choice' | 'loosen' | 'proofTurns' | 'proof' | 'station';
  /** After a stand-by somebody has to say whether the crank was moved; after a stop the reference is set up again. */
  readonly crankDoubt: 'none' | 'ask' | 'lost';
  readonly surveyed: boolean | null;
  readonly toSet: 'all' | 'outside' | null;
  /** The blade named for the valve being set, before its drag was. */
  readonly blade: Clearance | null;
  readonly gasketFound: 'good' | 'damaged' | null;
  readonly gasketFitted: 'new' | 'old' | null;
  readonly comparedAt: number | null;
  readonly findings: readonly string[];
  readonly pending: Said | null;
  readonly reply: Reply;
  readonly kept: readonly Kept[];
  readonly past: readonly Frame[];
  /** The last entry may be corrected: true after an entry, until it was corrected or went back on. */
  readonly correctable: boolean;
  readonly signedBy: string | null;
  readonly inspectedBy: string | null;
}

/** The facts as they stood before an entry. */
type Frame = Omit<Book, 'past'>;

/** How many entries can be gone back on. */
const KEEP_FRAMES = 8;

export function openBook(opening: Opening): Book {
  const valves: Record<ValveId, ValveRecord> = {};
  for (const valve of opening.sheet.valves) {
    const id = valveId(valve);
    valves[id] = {
      valve,
      id,
      phase: 'untouched',
      everLoosened: false,
      loosenings: 0,
      locked: false,
      skipped: null,
      found: null,
      set: null,
      torqued: null,
      left: null,
      ownProof: false,
    };
  }
  return {
    ...opening,
    stations: stations(opening.sheet),
    valves,
    step: 'identify',
    nth: 0,
    tally: [],
    round: 'found',
    station: 0,
    place: 0,
    crank: null,
    referenceFor: 'surveyChoice',
    crankDoubt: 'none',
    surveyed: null,
    toSet: null,
    blade: null,
    gasketFound: null,
    gasketFitted: null,
    comparedAt: null,
    findings: [],
    pending: null,
    reply: { kind: 'opened' },
    kept: [],
    past: [],
    correctable: false,
    signedBy: null,
    inspectedBy: null,
  };
}

// What the book says

/** The sheet's own stand where isolating does: before the lock, and before the proof that the engine is dead. */
export const cautionsOf = (book: Opening): readonly string[] => [
  ...CAUTIONS.slice(0, ISOLATED),
  ...book.sheet.cautions,
  ...CAUTIONS.slice(ISOLATED),
];
export const checks = RUN_CHECKS;
export const itemsFor = (book: Opening, when: 'start' | 'towels') =>
  book.sheet.counted.filter((item) => item.when === when).map((item) => item.what);
/** What is counted out before the cover goes on: all that was counted in, without the fasteners that close it. */
export const itemsOut = (book: Book) => book.tally.filter((item) => item.what !== FASTENERS);
/** What is being counted by name: tools, towels; null where nothing is, or what every sheet has. */
export function itemDue(book: Book): string | null {
  switch (book.step) {
    case 'countIn':
      return itemsFor(book, 'start')[book.nth] ?? null;
    case 'packTowels':
      return itemsFor(book, 'towels')[book.nth] ?? null;
    case 'countOut':
      return itemsOut(book)[book.nth]?.what ?? null;
    default:
      return null;
  }
}
export const FASTENERS = 'fasteners';
export const TURNING_TOOL = 'turning tool';
const fastenersOff = (book: Book) => book.tally.find((item) => item.what === FASTENERS);
/** From the first fastener out until the count is closed something more may be brought in, and is counted. */
export const mayBring = (book: Book) =>
  fastenersOff(book) !== undefined && STEPS.indexOf(book.step) <= STEPS.indexOf('countOut');
/** What came off is not what the sheet has: one was missing before, or one is still about. */
export const fastenersDiffer = (book: Book) => fastenersOff(book)?.in !== book.sheet.cover.fasteners;
/** How often its nut was loosened after the first time. */
export const timesSetAgain = (record: ValveRecord) => Math.max(0, record.loosenings - 1);

/** Chosen to be set, and not left out. */
export function isToSet(book: Book, record: ValveRecord): boolean {
  if (record.everLoosened) return true;
  if (record.skipped) return false;
  return book.toSet === 'all' || (record.found !== null && !insideLimits(book, record, record.found));
}

export function insideLimits(book: Opening, record: Pick<ValveRecord, 'valve'>, reading: Clearance): boolean {
  return inside(reading, book.sheet.clearance[record.valve.side]);
}

/** The valves of all stations, in the order in which they are visited. */
export function inOrder(book: Book): ValveRecord[] {
  return book.stations.flatMap((station) => station.valves.map((valve) => book.valves[valveId(valve)]!));
}

export function toLoosen(book: Book): ValveRecord[] {
  return inOrder(book).filter((record) => isToSet(book, record) && !record.everLoosened);
}

/** The valve that the present step is about; null where it is about none. */
export function dueValve(book: Book): ValveRecord | null {
  if (book.step === 'loosen') return toLoosen(book)[0] ?? null;
  return VALVE_STEPS.has(book.step) ? valveAtPlace(book) : null;
}

/** The valve that the round has come to; null where the station is finished. */
export function valveAtPlace(book: Book): ValveRecord | null {
  const valve = book.place === null ? undefined : book.stations[book.station]?.valves[book.place];
  return valve ? book.valves[valveId(valve)]! : null;
}

const VALVE_STEPS = new Set<StepName>([
  'gauge',
  'loosenAgain',
  'setDrag',
  'nip',
  'torque',
  'gaugeAgain',
  'paint',
  'playCheck',
  'proofAgain',
  'proof',
]);
/** Steps that are only true while the crank stands where it was put. */
const CRANK_STEPS = new Set<StepName>(STEPS.slice(STEPS.indexOf('referencePlay'), STEPS.indexOf('countOut')));
/** Steps of the reference itself: here the crank's place is only being found. */
const REFERENCE_STEPS = new Set<StepName>([
  'referenceTurn',
  'referencePlay',
  'referenceOn',
  'referenceWatch',
]);
export const needsCrank = (book: Book) => CRANK_STEPS.has(book.step);

export function dueStation(book: Book): Station {
  return book.stations[book.station]!;
}

/** Where the work goes on when the reference has been found again. */
export function leadsBackTo(book: Pick<Book, 'step' | 'referenceFor'>): Book['referenceFor'] {
  const { step } = book;
  if (REFERENCE_STEPS.has(step)) return book.referenceFor;
  return step === 'surveyChoice' || step === 'choice' || step === 'loosen' || step === 'proofTurns'
    ? step
    : 'station';
}

/** How far the crank has to be turned on to the due station. */
export function degreesToTurn(book: Book): Degrees {
  return turnOn(book.crank ?? degrees(0), dueStation(book).at);
}

/** How far on to the reference for the proof: two full turns, and on to the mark where the crank stands elsewhere. */
export function degreesToProof(book: Book): Degrees {
  return degrees(720 + turnOn(book.crank ?? degrees(0), degrees(0)));
}

/** The mark was overshot just now: it is come to again after two full turns. */
export function isOvershot(book: Book): boolean {
  const last = book.kept[book.kept.length - 1];
  return last?.entry.type === 'overshot' && !last.superseded && last.step === book.step;
}

/** Whether the present round still has to visit a valve. */
function isVisited(book: Book, record: ValveRecord): boolean {
  if (record.skipped) return false;
  if (book.round === 'found') return record.found === null;
  if (book.round === 'setting') return isToSet(book, record) && record.phase !== 'played';
  return record.phase !== 'proved';
}

/** Whether the sides of the cylinder just set are to be compared by their play. */
export function isCompareDue(book: Book): boolean {
  const set = dueStation(book)
    .valves.map((valve) => book.valves[valveId(valve)]!)
    .filter((record) => isToSet(book, record));
  const bothSides = new Set(set.map(({ valve }) => valve.side)).size === 2;
  const isSetNow =
    book.round === 'setting' || (book.round === 'proof' && set.some(({ ownProof }) => ownProof));
  const allPlayed = set.every(({ phase }) => phase === 'played' || phase === 'proved');
  return (
    isSetNow && bothSides && allPlayed && largerSide(book.sheet) !== null && book.comparedAt !== book.station
  );
}

/** The companion facts of a refusal: is the valve or cylinder that was named the due one? */
export function wrongPlace(book: Book, entry: Entry): Refusal | null {
  if (entry.type === 'markSeen' && entry.cylinder !== null) {
    const atStation = book.step === 'turn' || book.step === 'proofAgain';
    const due = atStation ? dueStation(book).cylinder : book.stations[0]!.cylinder;
    if (entry.cylinder !== due) return { why: 'wrong cylinder', said: entry.cylinder, due };
  }
  if ('valve' in entry && entry.valve !== null) {
    const due = dueValve(book);
    if (due && due.id !== entry.valve) return { why: 'wrong valve', said: entry.valve, due: due.id };
  }
  return null;
}

/** Why an entry must be asked back before it is taken; nothing where it need not. */
export function whyAsk(book: Book, said: Said): readonly AskReason[] {
  if (said.confirmed) return [];
  const { step, sheet } = book;
  const reasons: [AskReason, boolean][] = [];
  switch (said.type) {
    case 'gauged': {
      if (!said.reading) break;
      const due = dueValve(book);
      reasons.push(['other unit', said.reading.unit !== sheet.clearance.intake.wanted.unit]);
      reasons.push(['outside', due !== null && step !== 'setDrag' && !insideLimits(book, due, said.reading)]);
      break;
    }
    case 'proofed':
      reasons.push(['outside', said.verdict !== 'pass']);
      break;
    case 'play':
      reasons.push(['no play', !said.has]);
      break;
    case 'counted':
      reasons.push(['count', step === 'coverOff' && said.number !== sheet.cover.fasteners]);
      reasons.push(['fasteners differ', step === 'handStart' && fastenersDiffer(book)]);
      break;
    case 'inspected':
      reasons.push(['inspector', step === 'inspect']);
      break;
    case 'affirm':
      reasons.push(['overdue', step === 'instruments' && overdue(book).length > 0]);
  }
  return reasons.filter(([, holds]) => holds).map(([reason]) => reason);
}

export function overdue(book: Opening): readonly Instrument[] {
  return book.instruments.filter((instrument) => instrument.due < book.openedAt.slice(0, 10));
}

export const isSigned = (book: Book) => book.step === 'closed';

// How the book changes

/** Keeps the facts as they stand, notes the entry, and says that it was entered. */
export function enter(book: Book, said: Said): Book {
  const { past, ...frame } = book;
  const valve = dueValve(book)?.id ?? null;
  const { seq, at, who, confirmed: _, ...entry } = said;
  return {
    ...book,
    past: [...past, frame].slice(-KEEP_FRAMES),
    kept: [...book.kept, { seq, at, who, step: book.step, valve, entry: entry as Entry, superseded: false }],
    reply: { kind: 'entered', entry: entry as Entry, valve },
    pending: null,
    correctable: true,
  };
}

/** Changes the record of the due valve. */
export function change(book: Book, how: (record: ValveRecord) => Partial<ValveRecord>): Book {
  const due = dueValve(book);
  return due ? { ...book, valves: { ...book.valves, [due.id]: { ...due, ...how(due) } } } : book;
}

/**
 * The due valve's nut is loose. With the first one there is no way back to what is only true of an untouched engine:
 * the stroke judged by play, and the measures as found.
 */
export function noteLoosened(book: Book): Book {
  const first = !inOrder(book).some((record) => record.everLoosened);
  const loosened = change(book, ({ loosenings }) => ({
    phase: 'loosened',
    everLoosened: true,
    loosenings: loosenings + 1,
    locked: false,
  }));
  return { ...loosened, blade: null, past: first ? book.past.slice(-1) : book.past };
}

/** To the next valve that the round visits in this station. */
export function nextPlace(book: Book): Book {
  const place = dueStation(book).valves.findIndex((valve) => isVisited(book, book.valves[valveId(valve)]!));
  return { ...book, place: place < 0 ? null : place, blade: null };
}

/** To the next station that has a valve to visit; `station` is past the last one where there is none. */
export function nextStation(book: Book, from = book.station + 1): Book {
  let station = from;
  while (
    station < book.stations.length &&
    !book.stations[station]!.valves.some((valve) => isVisited(book, book.valves[valveId(valve)]!))
  ) {
    station++;
  }
  return station < book.stations.length ? nextPlace({ ...book, station }) : { ...book, station, place: null };
}

export const startRound = (book: Book, round: Round): Book =>
  nextStation({ ...book, round, comparedAt: null }, 0);
export const isRoundFinished = (book: Book) => book.station >= book.stations.length;

/** Voids the marks of a cylinder whose sides do not compare, so that each valve is gauged again. */
export function voidMarks(book: Book): Book {
  const valves = { ...book.valves };
  for (const valve of dueStation(book).valves) {
    const record = valves[valveId(valve)]!;
    if (isToSet(book, record)) valves[record.id] = { ...record, phase: 'torqued', left: null };
  }
  return nextPlace({ ...book, valves, comparedAt: null });
}

/**
 * The facts as they stood some entries ago. What was done to the engine stays done: loosened and torqued nuts, the
 * crank where it stands, and where it is not known it is found anew. Entries gone back on are superseded, never removed.
 */
export function goneBack(book: Book, entries: number, reply: 'corrected' | 'wentBack'): Book {
  const back = Math.min(entries, book.past.length);
  const frame = book.past[book.past.length - back]!;
  const valves = { ...frame.valves };
  for (const record of Object.values(book.valves)) {
    const then = valves[record.id]!;
    const { everLoosened, loosenings, locked, ownProof } = record;
    const phase = possiblePhase(then, record, reply);
    valves[record.id] = { ...then, everLoosened, loosenings, locked, ownProof, phase };
  }
  // A "mark seen" that is taken back was not true; one that is only gone back over was.
  const crank = book.crank !== null && reply === 'corrected' ? frame.crank : book.crank;
  const step = possibleStep(frame, valves, crank);
  const last = book.kept[book.kept.length - 1]!;
  return {
    ...frame,
    step,
    referenceFor: step === frame.step ? frame.referenceFor : leadsBackTo(frame),
    valves,
    crank,
    crankDoubt: book.crankDoubt,
    kept: book.kept.map((kept, k) => (k >= frame.kept.length ? { ...kept, superseded: true } : kept)),
    past: book.past.slice(0, book.past.length - back),
    pending: null,
    correctable: false,
    reply:
      reply === 'corrected'
        ? { kind: 'corrected', entry: last.entry, valve: last.valve }
        : { kind: 'wentBack' },
  };
}

/** The phase that a valve can be in, its nut being as it is. A failure may be taken back, but not gone back over. */
function possiblePhase(then: ValveRecord, now: ValveRecord, reply: 'corrected' | 'wentBack'): Phase {
  if (now.phase === 'failed' && reply === 'wentBack') return 'failed';
  const asThen = now.loosenings === then.loosenings && now.locked === then.locked;
  if (asThen) return then.phase;
  return now.locked ? 'torqued' : 'loosened';
}

/** The step that can be gone back to, the crank and the nut being as they are. */
function possibleStep(frame: Frame, valves: Book['valves'], crank: Degrees | null): StepName {
  const { step } = frame;
  if (crank === null && CRANK_STEPS.has(step) && !REFERENCE_STEPS.has(step)) return 'referenceTurn';
  if (!VALVE_STEPS.has(step) && step !== 'compare') return step;
  const then: Book = { ...frame, past: [], valves };
  if (crank !== dueStation(then).at) return 'turn';
  const due = dueValve(then);
  if (!due || due.phase === frame.valves[due.id]!.phase) return step;
  if (due.phase === 'failed') return 'loosenAgain';
  if (!due.locked) return 'setDrag';
  return step === 'torque' ? 'torque' : 'gaugeAgain';
}
