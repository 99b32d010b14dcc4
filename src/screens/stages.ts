// Where a step stands in the whole job: the ten stages that are drawn as a strip, and the count inside one.
import {
  type Book,
  cautionsOf,
  checks,
  dueValve,
  itemsFor,
  itemsOut,
  needsCrank,
} from '../procedure/book.ts';
import type { StepName } from '../procedure/steps.ts';

export const STAGES = [
  'Prepare',
  'Cover off',
  'Reference',
  'As found',
  'Loosen',
  'Set',
  'Proof',
  'Close up',
  'First run',
  'Sign',
] as const;
export type Stage = (typeof STAGES)[number];

const STAGE_OF: Partial<Record<StepName, Stage>> = {
  identify: 'Prepare',
  cautions: 'Prepare',
  condition: 'Prepare',
  instruments: 'Prepare',
  countIn: 'Prepare',
  clearAway: 'Cover off',
  packTowels: 'Cover off',
  coverOff: 'Cover off',
  gasketLook: 'Cover off',
  turningTool: 'Reference',
  referenceTurn: 'Reference',
  referencePlay: 'Reference',
  referenceOn: 'Reference',
  referenceWatch: 'Reference',
  surveyChoice: 'As found',
  choice: 'Loosen',
  loosen: 'Loosen',
  countOut: 'Close up',
  gasketFit: 'Close up',
  sealant: 'Close up',
  handStart: 'Close up',
  tighten: 'Close up',
  runChecks: 'First run',
  leakRun: 'First run',
  leakStop: 'First run',
  sign: 'Sign',
  inspect: 'Sign',
  closed: 'Sign',
  proofTurns: 'Proof',
};
/** The steps at a valve, and the turns between them, belong to the round that is going on. */
const STAGE_OF_ROUND: Record<Book['round'], Stage> = { found: 'As found', setting: 'Set', proof: 'Proof' };

export function stageOf(book: Book): Stage {
  return STAGE_OF[book.step] ?? STAGE_OF_ROUND[book.round];
}

/** How far inside the stage, in words: "caution 3 of 10". Null where there is nothing to count. */
export function progressOf(book: Book): string | null {
  const count = (what: string, of: number) => `${what} ${book.nth + 1} of ${of}`;
  switch (book.step) {
    case 'cautions':
      return count('caution', cautionsOf(book).length);
    case 'countIn':
      return count('count', itemsFor(book, 'start').length);
    case 'packTowels':
      return count('count', itemsFor(book, 'towels').length);
    case 'countOut':
      return count('count', itemsOut(book).length);
    case 'tighten':
      return count('pass', book.sheet.cover.passes.length);
    case 'runChecks':
      return count('check', checks.length);
  }
  const isAtStation = needsCrank(book) && !(book.step in STAGE_OF) && book.station < book.stations.length;
  return isAtStation
    ? `cylinder ${book.stations[book.station]!.cylinder}, stop ${book.station + 1} of ${book.stations.length}`
    : null;
}

/** What number the step asks for; null where it asks for none. */
export function numberDue(book: Book): 'reading' | 'count' | null {
  switch (book.step) {
    case 'gauge':
    case 'setDrag':
    case 'gaugeAgain':
    case 'proof':
      return 'reading';
    case 'countIn':
    case 'packTowels':
    case 'coverOff':
    case 'turningTool':
    case 'countOut':
    case 'handStart':
      return 'count';
    default:
      return null;
  }
}

/** The figure to begin with where one is entered by pedal: the sheet's, or what was counted in. */
export function expectedNumber(book: Book): number {
  const due = dueValve(book);
  if (due) return book.sheet.clearance[due.valve.side].wanted.value;
  if (book.step === 'countOut') return itemsOut(book)[book.nth]?.in ?? 1;
  return book.step === 'coverOff' || book.step === 'handStart' ? book.sheet.cover.fasteners : 1;
}
