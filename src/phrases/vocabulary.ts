// What may be said at each step, made from the plan. A phrase that is not in the list of the moment is never taken.
import type { Book } from '../procedure/book.ts';
import {
  dueValve,
  FASTENERS,
  itemDue,
  itemsOut,
  mayBring,
  needsCrank,
  TURNING_TOOL,
} from '../procedure/book.ts';
import type { Entry, Feel, SkipReason } from '../procedure/entry.ts';
import type { Going } from '../procedure/fold.ts';
import type { StepName } from '../procedure/steps.ts';
import { highest } from '../trade/gauge.ts';
import { type ValveId, valveId } from '../trade/sheet.ts';
import { graphOfPhrase, map, maybe, oneOf, type Phrase, say, sayAny, seq } from './grammar.ts';
import { cardinal, cardinalWords, clearance } from './numbers.ts';
import { valveWords } from './spoken.ts';
import type { WordGraph } from './wordgraph.ts';

type Words = Phrase<Entry>;
const means = (texts: readonly string[], entry: Entry): Words => sayAny(texts, entry);

// The five control words, and two more that lead back
const stop = means(['stop'], { type: 'stop' });
const sayAgain = means(['say again'], { type: 'sayAgain' });
const standBy = means(['stand by'], { type: 'standBy' });
const carryOn = means(['carry on'], { type: 'carryOn' });
const correction = means(['correction'], { type: 'correction' });
const controls = oneOf(stop, sayAgain, standBy, carryOn, correction);
const back = means(['go back'], { type: 'goBack' });
const lost = means(['mark lost', 'reference lost'], { type: 'lost' });

const affirm = means(['affirm', 'affirmative'], { type: 'affirm' });
const negative = means(['negative'], { type: 'negative' });
const done = means(['done', 'all done', 'ready'], { type: 'done' });
const overshot = means(['overshot', 'past the mark'], { type: 'overshot' });

/** What may be said now. */
export function vocabulary(book: Book, going: Going): Words {
  switch (going) {
    case 'standBy':
    case 'stopped':
      return oneOf(carryOn, stop);
    case 'offer':
    case 'still':
      return oneOf(affirm, negative, controls);
    case 'asking':
      return oneOf(affirm, negative, ofStep(book), controls);
    case 'work':
      if (book.step === 'closed') return controls;
      return oneOf(
        ofStep(book),
        controls,
        back,
        ...(needsCrank(book) ? [lost] : []),
        ...(mayBring(book) ? [brought(book)] : []),
      );
  }
}

export const graphFor = (book: Book, going: Going): WordGraph => graphOfPhrase(vocabulary(book, going));

function ofStep(book: Book): Words {
  const step: Record<StepName, () => Words> = {
    identify: () => oneOf(affirm, negative),
    cautions: () => done,
    condition: () => oneOf(affirm, negative),
    instruments: () => oneOf(affirm, negative),
    countIn: () => counted(itemDue(book)),
    clearAway: () => done,
    packTowels: () => counted(itemDue(book)),
    coverOff: () => counted(FASTENERS),
    gasketLook: () =>
      oneOf(gasket('good', ['gasket good', 'good']), gasket('damaged', ['gasket damaged', 'damaged'])),
    turningTool: () => counted(TURNING_TOOL),
    referenceTurn: () => oneOf(markSeen(book), overshot),
    referencePlay: () =>
      oneOf(
        means(['play on all', 'all have play'], { type: 'rocked', play: 'all' }),
        means(['play on some', 'some have play'], { type: 'rocked', play: 'some' }),
        means(['no play'], { type: 'rocked', play: 'none' }),
      ),
    referenceOn: () => oneOf(markSeen(book), overshot),
    referenceWatch: () =>
      oneOf(
        means(['resting', 'valves resting'], { type: 'watched', valves: 'resting' }),
        means(['moving', 'valves moving'], { type: 'watched', valves: 'moving' }),
      ),
    surveyChoice: () => oneOf(affirm, negative),
    turn: () => oneOf(markSeen(book), overshot),
    gauge: () => oneOf(gauged(book, FOUND_REACH), noGap(book), skip(book)),
    choice: () =>
      oneOf(
        means(['set all', 'all valves'], { type: 'choose', set: 'all' }),
        means(['only outside', 'set only outside'], { type: 'choose', set: 'outside' }),
      ),
    loosen: () => oneOf(deed(book, 'loosened'), skip(book)),
    setDrag: () => oneOf(gauged(book), dragAlone(book), deed(book, 'nipped'), deed(book, 'torqued')),
    nip: () => oneOf(deed(book, 'nipped'), deed(book, 'dragChanged'), deed(book, 'torqued')),
    torque: () => oneOf(deed(book, 'torqued'), deed(book, 'marked')),
    gaugeAgain: () => oneOf(gauged(book, FOUND_REACH), noGap(book), deed(book, 'marked')),
    loosenAgain: () => deed(book, 'loosened'),
    paint: () => oneOf(deed(book, 'marked'), play(book)),
    playCheck: () => play(book),
    compare: () => oneOf(affirm, negative),
    proofTurns: () => oneOf(markSeen(book), overshot),
    proofAgain: () => oneOf(markSeen(book), overshot),
    proof: () => oneOf(proofed(book), gauged(book), skip(book)),
    countOut: () => counted(itemDue(book)),
    gasketFit: () => oneOf(gasket('new', ['new gasket']), gasket('old', ['old gasket'])),
    sealant: () => done,
    handStart: () => counted(FASTENERS),
    tighten: () => done,
    runChecks: () => affirm,
    leakRun: () =>
      oneOf(
        means(['no leak', 'no leaks', 'all dry'], { type: 'leak', found: false }),
        means(['leak found', 'leaking'], { type: 'leak', found: true }),
      ),
    leakStop: () => done,
    sign: () => means(['signed', 'i sign'], { type: 'signed' }),
    inspect: () => means(['inspected', 'inspection done'], { type: 'inspected' }),
    closed: () => oneOf(),
  };
  return step[book.step]();
}

/** The words of things that the ear knows; of a thing with another name only the number is said. */
export const COUNTABLE: ReadonlySet<string> = new Set(
  'tools towels rags plugs caps sockets spanners wrenches blades clips covers bolts nuts screws washers turning tool fasteners'.split(
    ' ',
  ),
);

const isSayable = (thing: string) =>
  thing.split(' ').every((word) => COUNTABLE.has(word) || COUNTABLE.has(`${word}s`));

/** A number of things, alone or with what is being counted: "four", "four towels". Another thing is not understood. */
function counted(thing: string | null): Words {
  const nouns =
    thing && isSayable(thing)
      ? sayAny(thing.endsWith('s') ? [thing] : [thing, `${thing}s`], null)
      : oneOf<null>();
  return map(
    seq(cardinal(0, 60), maybe(nouns, null), (number) => number),
    (number): Entry => ({ type: 'counted', number }),
  );
}

/** Something more that goes in while the cover is off: "bring in two", "bring in two towels". */
function brought(book: Book): Words {
  const things = itemsOut(book)
    .map((item) => item.what)
    .filter(isSayable);
  return seq(
    seq(say('bring in', null), cardinal(1, 12), (_, number) => number),
    maybe(oneOf(...things.map((what) => say(what, what))), null),
    (number, what): Entry => ({ type: 'brought', number, what }),
  );
}

function gasket(is: 'good' | 'damaged' | 'new' | 'old', texts: readonly string[]): Words {
  return means(texts, { type: 'gasket', is });
}

function markSeen(book: Book): Words {
  const cylinders = book.sheet.cylinders.map(({ number }) =>
    say(`cylinder ${cardinalWords(number)}`, number),
  );
  return seq(
    maybe(oneOf(...cylinders), null),
    sayAny(['mark seen', 'on the mark'], null),
    (cylinder): Entry => ({ type: 'markSeen', cylinder }),
  );
}

/** Any valve of the engine by name, or none: then the one that is due is meant. */
function valve(book: Book): Phrase<ValveId | null> {
  return maybe(oneOf(...book.sheet.valves.map((each) => say(valveWords(each), valveId(each)))), null);
}

const DEEDS = {
  loosened: ['loosened', 'backed off'],
  nipped: ['nipped', 'nut nipped'],
  dragChanged: ['drag changed', 'drag has changed'],
  torqued: ['torqued', 'nut torqued'],
  marked: ['marked', 'painted'],
} as const;

function deed(book: Book, type: keyof typeof DEEDS): Words {
  return seq(valve(book), sayAny(DEEDS[type], null), (which): Entry => ({ type, valve: which }));
}

function play(book: Book): Words {
  const verdict = oneOf(sayAny(['play okay', 'has play'], true), sayAny(['no play'], false));
  return seq(valve(book), verdict, (which, has): Entry => ({ type: 'play', valve: which, has }));
}

const feel: Phrase<Feel> = oneOf(
  sayAny(['drag okay', 'light drag', 'drag good'], 'light'),
  sayAny(['drag tight', 'too tight'], 'tight'),
  sayAny(['drag loose', 'too loose'], 'loose'),
);

/** How far above the largest limit figures are known, as a multiple: where a valve is set, and where it is found. */
const SET_REACH = 1.6;
const FOUND_REACH = 2.5;

/** "seven thou", "intake two, seven thou", "intake two, seven thou, drag okay". */
function gauged(book: Book, reach = SET_REACH): Words {
  const { unit } = book.sheet.clearance.intake.wanted;
  const widest = Math.max(highest(book.sheet.clearance.intake), highest(book.sheet.clearance.exhaust));
  const figure = seq(clearance(unit, reach * widest), maybe(feel, null), (reading, drag) => ({
    reading,
    feel: drag,
  }));
  return seq(valve(book), figure, (which, said): Entry => ({ type: 'gauged', valve: which, ...said }));
}

/** A closed-up valve: not even the thinnest blade goes in. */
function noGap(book: Book): Words {
  const { unit } = book.sheet.clearance.intake.wanted;
  const reading = { value: 0, unit };
  return seq(
    valve(book),
    sayAny(['no gap', 'closed up'], null),
    (which): Entry => ({ type: 'gauged', valve: which, reading, feel: null }),
  );
}

function dragAlone(book: Book): Words {
  return seq(
    valve(book),
    feel,
    (which, drag): Entry => ({ type: 'gauged', valve: which, reading: null, feel: drag }),
  );
}

function proofed(book: Book): Words {
  const verdict = oneOf(
    sayAny(['pass', 'passes'], 'pass' as const),
    sayAny(['too loose'], 'too wide' as const),
    sayAny(['too tight'], 'too tight' as const),
  );
  return seq(
    valve(book),
    verdict,
    (which, said): Entry => ({ type: 'proofed', valve: which, verdict: said }),
  );
}

const REASONS: readonly SkipReason[] = ['seized', 'damaged', 'out of reach', 'missing part'];

function skip(book: Book): Words {
  const id = dueValve(book)?.id ?? null;
  return seq(
    say('skip', null),
    oneOf(...REASONS.map((reason) => say(reason, reason))),
    (_, reason): Entry => ({ type: 'skip', valve: id, reason }),
  );
}
