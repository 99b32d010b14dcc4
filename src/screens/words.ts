// Short written words for what the book holds: valves, their states, entries, limits. What is spoken is in phrases.
import type { Rejected } from '../hearing/recogniser.ts';
import type { Phase, Reply, ValveRecord } from '../procedure/book.ts';
import type { Entry } from '../procedure/entry.ts';
import type { StepName } from '../procedure/steps.ts';
import { highest, lowest } from '../trade/gauge.ts';
import type { Limits, Valve, ValveId } from '../trade/sheet.ts';
import { type Clearance, type ClearanceUnit, fromMicrometres, writeClearance } from '../trade/units.ts';

export function valveWords(valve: Pick<Valve, 'cylinder' | 'side' | 'mark'>): string {
  return [valve.side === 'intake' ? 'Intake' : 'Exhaust', valve.cylinder, valve.mark]
    .filter(Boolean)
    .join(' ');
}

export const valveIdWords = (id: ValveId) => `${id[0]!.toUpperCase()}${id.slice(1).replaceAll('-', ' ')}`;

export type ValveState = Phase | 'found' | 'leftOut';

export function stateOf(record: ValveRecord): ValveState {
  if (record.skipped) return 'leftOut';
  return record.phase === 'untouched' && record.found ? 'found' : record.phase;
}

export const STATE_WORDS: Record<ValveState, string> = {
  untouched: 'not yet',
  found: 'found',
  failed: 'failed',
  loosened: 'loose',
  set: 'set',
  nipped: 'nipped',
  torqued: 'torqued',
  gauged: 'gauged',
  marked: 'marked',
  played: 'play',
  proved: 'proved',
  leftOut: 'left out',
};

/** The figure that stands for the valve now: the latest one taken. */
export function figureOf({ left, torqued, set, found }: ValveRecord): string {
  if (left === 'go and no-go') return 'go ✓';
  const latest = left ?? torqued ?? set ?? found;
  return latest ? figure(latest) : '';
}

/** Without its unit: "0.18", "7". */
export const figure = (clearance: Clearance) => writeClearance(clearance).split(' ')[0]!;

/** Without the unit: "0.20 to 0.30". */
export function limitsWords(limits: Limits): string {
  const { unit } = limits.wanted;
  return `${figure(fromMicrometres(lowest(limits), unit))} to ${figure(fromMicrometres(highest(limits), unit))}`;
}

/**
 * A reading as typed. Millimetres typed without a point are the digits behind it, as they are spoken: 18 is 0.18 mm.
 * Null where it is no reading.
 */
export function typedReading(text: string, unit: ClearanceUnit): Clearance | null {
  const value = Number(unit === 'mm' && !text.includes('.') ? `0.${text}` : text);
  return text !== '' && value > 0 ? { value, unit } : null;
}

export function typedCount(text: string): number | null {
  return /^\d{1,3}$/.test(text) ? Number(text) : null;
}

export function entryWords(entry: Entry): string {
  switch (entry.type) {
    case 'affirm':
      return 'yes';
    case 'negative':
      return 'no';
    case 'counted':
      return `${entry.number} counted`;
    case 'brought':
      return `${entry.number} more ${entry.what ?? 'things'} brought in`;
    case 'markSeen':
      return 'on the mark';
    case 'overshot':
      return 'went past the mark';
    case 'rocked':
      return { all: 'all have play', some: 'some have play', none: 'none has play' }[entry.play];
    case 'watched':
      return `valves ${entry.valves === 'resting' ? 'at rest' : 'moving'}`;
    case 'gauged':
      return [entry.reading && writeClearance(entry.reading), entry.feel && `${entry.feel} drag`]
        .filter(Boolean)
        .join(', ');
    case 'proofed':
      return entry.verdict === 'pass' ? 'go passes, no-go does not' : entry.verdict;
    case 'nipped':
      return 'nut nipped';
    case 'dragChanged':
      return 'drag changed';
    case 'marked':
      return 'paint mark on';
    case 'play':
      return entry.has ? 'has play' : 'no play';
    case 'choose':
      return entry.set === 'all' ? 'set them all' : 'set those outside';
    case 'skip':
      return `left out: ${entry.reason}`;
    case 'gasket':
      return `gasket ${entry.is}`;
    case 'leak':
      return entry.found ? 'a leak' : 'no leak';
    case 'lost':
      return 'reference in doubt';
    default:
      return entry.type;
  }
}

/** What an entry was about that names neither a valve nor its matter itself. */
export const STEP_WORDS: Partial<Record<StepName, string>> = {
  identify: 'Engine',
  cautions: 'Caution',
  condition: 'Engine condition',
  instruments: 'Instruments',
  countIn: 'In',
  clearAway: 'Cleared away',
  packTowels: 'In',
  coverOff: 'Fasteners',
  turningTool: 'Turning tool',
  surveyChoice: 'Gauge as found',
  compare: 'Play compares',
  countOut: 'Out',
  sealant: 'Sealant',
  handStart: 'Started by hand',
  tighten: 'Tightened',
  runChecks: 'Check',
  leakStop: 'Stopped for the leak',
};

export const REJECTED_WORDS: Record<Rejected, string> = {
  noise: 'No speech in it. Nothing entered.',
  unknown: 'Not one of the phrases for this step. Nothing entered.',
  unsure: 'Heard doubtfully. Entered only after a yes.',
};

/** What became of the last entry, as one word before its sentence. */
export const REPLY_WORDS: Record<Reply['kind'], string> = {
  opened: 'Begun',
  withdrawn: 'Withdrawn',
  again: 'Again',
  stopped: 'Stopped',
  standingBy: 'Standing by',
  carryingOn: 'Carrying on',
  wentBack: 'Went back',
  lost: 'Reference lost',
  entered: 'Entered',
  corrected: 'Corrected',
  asked: 'Asked back',
  refused: 'Not entered',
};

/** "3 March 2026" */
export const dayWords = (at: string) =>
  new Intl.DateTimeFormat('en-GB', { dateStyle: 'long' }).format(new Date(at));

/** "21:40", or with the day: "25 November 2026, 21:40". */
export function timeWords(at: string, withDay = false): string {
  const style: Intl.DateTimeFormatOptions = withDay
    ? { dateStyle: 'long', timeStyle: 'short' }
    : { timeStyle: 'short' };
  return new Intl.DateTimeFormat('en-GB', style).format(new Date(at));
}

/** A pronunciation in phones as letters that can be read: "TH AW" is "th-ow". */
export const respelt = (phones: string) =>
  phones
    .split(' ')
    .map((phone) => RESPELT[phone] ?? phone.toLowerCase())
    .join('-');

/** Phones whose lower-case name would be read otherwise. */
const RESPELT: Readonly<Record<string, string>> = {
  AA: 'ah',
  AE: 'a',
  AH: 'uh',
  AO: 'aw',
  AW: 'ow',
  AY: 'eye',
  EH: 'e',
  EY: 'ay',
  HH: 'h',
  IH: 'i',
  IY: 'ee',
  JH: 'j',
  OW: 'oh',
  UH: 'oo',
  UW: 'oo',
};
