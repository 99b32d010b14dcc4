// The same answers for fingers, keys and pedal that a step knows for the voice, and a few examples of what may be said.
import type { Book } from '../procedure/book.ts';
import { dueStation, dueValve, itemDue } from '../procedure/book.ts';
import type { Entry } from '../procedure/entry.ts';
import type { Going } from '../procedure/fold.ts';
import type { StepName } from '../procedure/steps.ts';
import { cardinalWords, figureWords } from './numbers.ts';
import { clearanceWords } from './spoken.ts';

/** A large touch target. `main` is what Enter and the pedal mean; grave ones need care. */
export interface Choice {
  readonly label: string;
  readonly entry: Entry;
  /** null: the main choice, taken by Enter and the pedal. */
  readonly key: string | null;
  readonly weight: 'main' | 'other' | 'grave';
}

const choice = (label: string, entry: Entry, weight: Choice['weight'] = 'other'): Omit<Choice, 'key'> => ({
  label,
  entry,
  weight,
});
const done = choice('Done', { type: 'done' }, 'main');
const yes = choice('Affirm', { type: 'affirm' }, 'main');
const no = choice('Negative', { type: 'negative' });
const seen = choice('Mark seen', { type: 'markSeen', cylinder: null }, 'main');
const over = choice('Overshot', { type: 'overshot' });
const light = choice('Light drag', { type: 'gauged', valve: null, reading: null, feel: 'light' }, 'main');
const tight = choice('Drag tight', { type: 'gauged', valve: null, reading: null, feel: 'tight' });
const loose = choice('Drag loose', { type: 'gauged', valve: null, reading: null, feel: 'loose' });
const deed = (
  label: string,
  type: 'loosened' | 'nipped' | 'dragChanged' | 'torqued' | 'marked',
  weight: Choice['weight'] = 'main',
) => choice(label, { type, valve: null }, weight);
const skip = choice(
  'Leave out: out of reach',
  { type: 'skip', valve: null, reason: 'out of reach' },
  'grave',
);
const damaged = choice('Leave out: damaged', { type: 'skip', valve: null, reason: 'damaged' }, 'grave');
const missing = choice(
  'Leave out: missing part',
  { type: 'skip', valve: null, reason: 'missing part' },
  'grave',
);
const seized = choice('Leave out: seized', { type: 'skip', valve: null, reason: 'seized' }, 'grave');

const LEAVE_OUT = [skip, seized, damaged, missing];

const OF_STEP: Partial<Record<StepName, readonly Omit<Choice, 'key'>[]>> = {
  identify: [yes, no],
  cautions: [done],
  condition: [yes, no],
  instruments: [yes, no],
  clearAway: [done],
  gasketLook: [
    choice('Gasket good', { type: 'gasket', is: 'good' }, 'main'),
    choice('Gasket damaged', { type: 'gasket', is: 'damaged' }),
  ],
  referenceTurn: [seen, over],
  referencePlay: [
    choice('Play on all', { type: 'rocked', play: 'all' }, 'main'),
    choice('Play on some', { type: 'rocked', play: 'some' }),
    choice('No play', { type: 'rocked', play: 'none' }),
  ],
  referenceOn: [seen, over],
  referenceWatch: [
    choice('Resting', { type: 'watched', valves: 'resting' }, 'main'),
    choice('Moving', { type: 'watched', valves: 'moving' }),
  ],
  surveyChoice: [yes, no],
  turn: [seen, over],
  gauge: LEAVE_OUT,
  choice: [
    choice('Set all', { type: 'choose', set: 'all' }, 'main'),
    choice('Only outside', { type: 'choose', set: 'outside' }),
  ],
  loosen: [deed('Loosened', 'loosened'), ...LEAVE_OUT],
  setDrag: [light, tight, loose],
  nip: [deed('Nipped', 'nipped'), deed('Drag changed', 'dragChanged', 'other')],
  torque: [deed('Torqued', 'torqued')],
  loosenAgain: [deed('Loosened', 'loosened')],
  paint: [deed('Marked', 'marked')],
  playCheck: [
    choice('Has play', { type: 'play', valve: null, has: true }, 'main'),
    choice('No play', { type: 'play', valve: null, has: false }),
  ],
  compare: [yes, no],
  proofTurns: [seen, over],
  proofAgain: [seen, over],
  proof: [
    choice('Pass', { type: 'proofed', valve: null, verdict: 'pass' }, 'main'),
    choice('Too loose', { type: 'proofed', valve: null, verdict: 'too wide' }),
    choice('Too tight', { type: 'proofed', valve: null, verdict: 'too tight' }),
  ],
  gasketFit: [
    choice('New gasket', { type: 'gasket', is: 'new' }, 'main'),
    choice('Old gasket', { type: 'gasket', is: 'old' }),
  ],
  sealant: [done],
  tighten: [done],
  runChecks: [yes],
  leakRun: [
    choice('No leak', { type: 'leak', found: false }, 'main'),
    choice('Leak found', { type: 'leak', found: true }),
  ],
  leakStop: [done],
  sign: [choice('Signed', { type: 'signed' }, 'main')],
  inspect: [choice('Inspected', { type: 'inspected' }, 'main')],
};

/** The touch targets of the moment, each with its key; figures are entered on the number pad. */
export function choicesFor(book: Book, going: Going): readonly Choice[] {
  return offered(book, going).map((each, k) => ({
    ...each,
    key: each.weight === 'main' ? null : KEYS[k]!,
  }));
}
const KEYS = ['a', 'b', 'c', 'd', 'e', 'f', 'g'];

function offered(book: Book, going: Going): readonly Omit<Choice, 'key'>[] {
  switch (going) {
    case 'standBy':
    case 'stopped':
      return [choice('Carry on', { type: 'carryOn' }, 'main')];
    case 'asking':
    case 'offer':
    case 'still':
      return [yes, no];
    case 'work':
      if (book.step === 'setDrag' && !book.blade) return wantedBlade(book);
      if (book.step === 'gauge' || book.step === 'gaugeAgain')
        return [noGap(book), ...(OF_STEP[book.step] ?? [])];
      if (book.step === 'countOut') return [bringIn(book)];
      if (book.step === 'proof' && !dueValve(book)?.everLoosened) return [...OF_STEP.proof!, ...LEAVE_OUT];
      return OF_STEP[book.step] ?? [];
  }
}

/** At the blade: the sheet's own figure with a light drag is one touch, any other goes through the number pad. */
function wantedBlade(book: Book): readonly Omit<Choice, 'key'>[] {
  const side = dueStation(book).valves[book.place!]!.side;
  const { wanted } = book.sheet.clearance[side];
  return [
    choice(
      `${clearanceWords(wanted)}, light drag`,
      { type: 'gauged', valve: null, reading: wanted, feel: 'light' },
      'main',
    ),
    tight,
    loose,
  ];
}

const noGap = (book: Book) =>
  choice('No gap', {
    type: 'gauged',
    valve: null,
    reading: { value: 0, unit: book.sheet.clearance.intake.wanted.unit },
    feel: null,
  });

/** What is being counted out was one more, for it was brought later. */
function bringIn(book: Book): Omit<Choice, 'key'> {
  const what = itemDue(book)!;
  return choice(`One more ${what.replace(/s$/, '')} was brought in`, { type: 'brought', number: 1, what });
}

/** A handful of things that may be said now, for the screen and the shorter prompt. */
export function examples(book: Book, going: Going): readonly string[] {
  const spoken = offered(book, going).map((each) => EXAMPLE[each.label] ?? each.label.toLowerCase());
  if (going !== 'work') return spoken;
  const due = dueValve(book);
  const figure = due ? figureWords(book.sheet.clearance[due.valve.side].wanted) : '';
  switch (book.step) {
    case 'countIn':
    case 'packTowels':
    case 'turningTool':
      return ['one', 'four', 'twelve'];
    case 'countOut':
      return ['one', 'four', 'twelve', 'bring in one'];
    case 'coverOff':
    case 'handStart':
      return [
        cardinalWords(book.sheet.cover.fasteners),
        `${cardinalWords(book.sheet.cover.fasteners)} fasteners`,
      ];
    case 'gauge':
      return [figure, `${figure} drag okay`, 'no gap', 'skip seized'];
    case 'setDrag':
      return book.blade
        ? ['drag okay', 'drag tight', 'drag loose']
        : [`${figure} drag okay`, figure, 'drag tight'];
    case 'gaugeAgain':
      return [figure, `${figure} drag okay`, 'no gap'];
    default:
      return spoken;
  }
}
const EXAMPLE: Record<string, string> = {
  'Leave out: out of reach': 'skip out of reach',
  'Leave out: seized': 'skip seized',
  'Leave out: damaged': 'skip damaged',
  'Leave out: missing part': 'skip missing part',
};

/** The entries that a mechanic most often makes now, the likeliest first. */
export function likelyEntries(book: Book, going: Going): readonly Entry[] {
  const due = going === 'work' ? dueValve(book) : null;
  if (due && (book.step === 'gauge' || book.step === 'gaugeAgain')) {
    const { wanted } = book.sheet.clearance[due.valve.side];
    return [{ type: 'gauged', valve: null, reading: wanted, feel: null }];
  }
  return offered(book, going)
    .filter((each) => each.weight !== 'grave')
    .map((each) => each.entry);
}
