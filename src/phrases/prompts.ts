// What is said before each step: one short thing to do, and how to answer. Cautions are spoken in full.
import {
  type Book,
  cautionsOf,
  checks,
  degreesToProof,
  degreesToTurn,
  dueStation,
  dueValve,
  FASTENERS,
  isOvershot,
  itemDue,
  overdue,
} from '../procedure/book.ts';
import type { Going } from '../procedure/fold.ts';
import type { StepName } from '../procedure/steps.ts';
import { goNoGo, inside, largerSide } from '../trade/gauge.ts';
import { companion } from '../trade/positions.ts';
import { cardinalWords } from './numbers.ts';
import { readBack } from './readback.ts';
import { clearanceWords, sentence, torqueWords, valveWords } from './spoken.ts';

/** The sentence that asks for what is due now. */
export function prompt(book: Book, going: Going): string {
  switch (going) {
    case 'standBy':
      return 'Standing by. Say carry on.';
    case 'stopped':
      return 'Stopped. Say carry on when you are back.';
    case 'offer':
      return 'Go back three steps and check again from there? Affirm or negative.';
    case 'still':
      return 'Has the crank stayed where it was? Affirm or negative.';
    case 'asking':
      return book.reply.kind === 'asked' ? readBack(book) : 'Affirm or negative.';
    case 'work':
      return isOvershot(book)
        ? `${sentence(`go on ${turnWords(book, 720)}, never back, to the same mark`)} Say mark seen.`
        : PROMPTS[book.step](book);
  }
}

const direction = (book: Book) => {
  const { rotation } = book.sheet;
  return `${rotation.direction}, seen from ${rotation.seenFrom}${rotation.reverses ? `, at the tool ${opposite(rotation.direction)}` : ''}`;
};
/** How far to turn, by the crank, and where a gear is between, by the tool. */
function turnWords(book: Book, degrees: number): string {
  const { ratio } = book.sheet.rotation;
  return ratio === 1
    ? inTurns(degrees)
    : `${inTurns(degrees)} of the crank, at the tool ${inTurns(degrees * ratio)}`;
}
function inTurns(degrees: number): string {
  const full = Math.floor(Math.round(degrees) / 360);
  const rest = Math.round(degrees) - 360 * full;
  const turns = full === 0 ? '' : full === 1 ? 'one full turn' : `${cardinalWords(full)} full turns`;
  return [turns, rest > 0 ? `${rest} degrees` : ''].filter(Boolean).join(' and ');
}
const opposite = (turning: 'clockwise' | 'anticlockwise') =>
  turning === 'clockwise' ? 'anticlockwise' : 'clockwise';
const first = (book: Book) => `cylinder ${cardinalWords(book.stations[0]!.cylinder)}`;
const due = (book: Book) => valveWords(dueValve(book)!.valve);
const side = (book: Book) => dueValve(book)!.valve.side;
const wanted = (book: Book) => clearanceWords(book.sheet.clearance[side(book)].wanted);
const list = (things: readonly string[]) =>
  things.length < 2 ? things.join('') : `${things.slice(0, -1).join(', ')} and ${things[things.length - 1]}`;

const PROMPTS: Record<StepName, (book: Book) => string> = {
  identify: (book) =>
    `This is the data sheet of: ${book.sheet.title}.${book.sheet.invented ? ' It is invented, for practice only.' : ''} Is that the engine before you? Affirm or negative.`,
  cautions: (book) => `${cautionsOf(book)[book.nth]} Say done.`,
  condition: (book) => {
    const { engine, from, to } = book.sheet.clearance.condition;
    return `The sheet asks for a ${engine} engine, ${from} to ${to} degrees Celsius. Is it so? Affirm or negative.`;
  },
  instruments: (book) => {
    const late = overdue(book);
    const warning =
      late.length > 0 ? ` Overdue for calibration: ${list(late.map((each) => each.what))}.` : '';
    return `${sentence(`${list(book.instruments.map((each) => `${each.what} ${each.id}`))} at hand`)}${warning} Affirm or negative.`;
  },
  countIn: (book) => `Count in the ${itemDue(book)}. How many?`,
  clearAway: (book) => `Take off: ${list(book.sheet.clear)}. Say done.`,
  packTowels: (book) => `Pack ${itemDue(book)} on the low side, to catch the oil. How many?`,
  coverOff: (book) =>
    `Cover off. Fasteners out in the order ${[...book.sheet.cover.sequence].reverse().join(', ')}. How many are out?`,
  gasketLook: () => 'Look at the gasket. Gasket good, or gasket damaged?',
  turningTool: (book) => `Fit the turning tool at ${book.sheet.rotation.turnedFrom}. Count it in. How many?`,
  referenceTurn: (book) =>
    `Turn ${direction(book)}, never back, to the top dead centre mark of ${first(book)}, ${book.sheet.crankMarks.where}.${book.sheet.crankMarks.hidden ? ' Use lamp and mirror.' : ''} Say mark seen.`,
  referencePlay: (book) =>
    `Rock the rockers of ${first(book)} by hand. Play on all, play on some, or no play?`,
  referenceOn: (book) => {
    const last = book.stations.length > 1 ? ' It was on the overlap.' : '';
    return `Turn on ${turnWords(book, 360)}, to the same mark.${last} Watch the valves of ${first(book)}. Say mark seen.`;
  },
  referenceWatch: (book) => {
    const other = companion(book.sheet, book.stations[0]!.cylinder);
    const rest = other === null ? '' : ` Those of cylinder ${cardinalWords(other)} do the opposite.`;
    return `As the mark came up: were the valves of ${first(book)} resting, or moving?${rest} If you did not watch, turn two full turns on and watch.`;
  },
  surveyChoice: () =>
    'Measure every valve as found, before anything is loosened? Without it there is no trend. Affirm or negative.',
  turn: (book) =>
    `Turn on ${turnWords(book, degreesToTurn(book))}, ${direction(book)}, to cylinder ${cardinalWords(dueStation(book).cylinder)}. Say mark seen.`,
  gauge: (book) => `As found: ${due(book)}.`,
  choice: (book) => {
    const out = Object.values(book.valves).filter(
      (record) => record.found && !inside(record.found, book.sheet.clearance[record.valve.side]),
    );
    return `${sentence(`${out.length} of ${Object.keys(book.valves).length} are outside their limits`)} Set all, or only outside?`;
  },
  loosen: (book) => `Loosen the locknut of ${due(book)}, screw back half a turn.`,
  setDrag: (book) =>
    book.blade
      ? `${sentence(`${due(book)}, blade ${clearanceWords(book.blade)}`)} How is the drag?`
      : `${sentence(`${due(book)}, blade ${wanted(book)}`)} Run the screw down to a light drag.`,
  nip: () => 'Nip the nut, blade still in. Draw the blade: nipped, or drag changed?',
  torque: (book) =>
    `Hold the screw. Torque the nut to ${torqueWords(book.sheet.adjuster.locknut)}, tightening only.`,
  gaugeAgain: (book) => `Gauge ${due(book)} again.`,
  loosenAgain: (book) =>
    dueValve(book)!.everLoosened
      ? `The mark is void. Loosen the locknut of ${due(book)} again, screw back half a turn.`
      : `It has to be set. Loosen the locknut of ${due(book)}, screw back half a turn.`,
  paint: (book) => `Paint a line on the nut of ${due(book)}.`,
  playCheck: (book) => `Rock ${due(book)} by hand. Has play, or no play?`,
  compare: (book) => {
    const larger = largerSide(book.sheet)!;
    const smaller = larger === 'exhaust' ? 'intake' : 'exhaust';
    return `Has the ${larger} side of cylinder ${cardinalWords(dueStation(book).cylinder)} more play than the ${smaller} side? Affirm or negative.`;
  },
  proofTurns: (book) =>
    `Proof. Turn on ${turnWords(book, degreesToProof(book))}, to the mark of ${first(book)}, and watch its valves. Say mark seen.`,
  proofAgain: (book) =>
    `Turn on ${turnWords(book, 720)}, to the same mark, for the proof of ${due(book)}. Say mark seen.`,
  proof: (book) => {
    const { go, noGo } = goNoGo(book.sheet.clearance[side(book)]);
    return `Proof ${due(book)}. Go ${clearanceWords(go)}, no-go ${clearanceWords(noGo)}. Pass, too loose, or too tight?`;
  },
  countOut: (book) => `Count out the ${itemDue(book)}. How many?`,
  gasketFit: (book) =>
    book.sheet.gasket.always === 'new'
      ? 'Fit a new gasket. Say new gasket.'
      : 'Fit the gasket. New gasket, or old gasket?',
  sealant: (book) => `Put ${book.sheet.sealant!.what} ${book.sheet.sealant!.where}. Say done.`,
  handStart: (book) =>
    `Cover on. Start all ${book.sheet.cover.fasteners} ${FASTENERS} by hand. How many are started?`,
  tighten: (book) => {
    const { kind, passes, sequence } = book.sheet.cover;
    const seat = kind === 'shoulder' ? 'until the shoulder bottoms, then ' : '';
    return `Pass ${book.nth + 1} of ${passes.length}: tighten in the order ${sequence.join(', ')}, ${seat}to ${torqueWords(passes[book.nth]!)}. Say done.`;
  },
  runChecks: (book) => `${checks[book.nth]} Affirm.`,
  leakRun: () => 'Run the engine and look for leaks. No leak, or leak found?',
  leakStop: () =>
    'Stop the engine and isolate it again. Mend the leak with the cover on, then tighten anew. Say done.',
  sign: (book) => `All is done. ${book.mechanic}, say signed.`,
  inspect: (book) =>
    `An inspection by another person is due. ${book.inspector ?? 'Inspector'}, say inspected.`,
  closed: () => 'The record is signed and kept.',
};

/** The shorter prompt after something was heard doubtfully twice: the choices alone. */
export function shortPrompt(examples: readonly string[]): string {
  return `Say: ${examples.slice(0, 4).join(', or ')}.`;
}

/** The third time: the ways that need no ear. */
export const otherWays = 'Use the large buttons, the keys, or the pedal. I wait.';
