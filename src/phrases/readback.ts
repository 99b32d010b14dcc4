// What is said after an event: the read-back of one value and where it went, a question, or a refusal with its reason.
import { type AskReason, type Book, itemsOut, type Refusal, type Reply } from '../procedure/book.ts';
import type { Entry } from '../procedure/entry.ts';
import type { ValveId } from '../trade/sheet.ts';
import { cardinalWords } from './numbers.ts';
import { clearanceInBoth, clearanceWords, idWords, sentence } from './spoken.ts';

/** The sentence about the last event; empty where nothing needs saying beside the next prompt. */
export function readBack(book: Book): string {
  const { reply } = book;
  switch (reply.kind) {
    case 'opened':
    case 'again':
    case 'stopped':
    case 'standingBy':
    case 'carryingOn':
      return '';
    case 'withdrawn':
      return 'Not entered.';
    case 'wentBack':
      return 'Gone back.';
    case 'lost':
      return 'The reference is set up again.';
    case 'corrected':
      return sentence(`taken back: ${what(book, reply.entry, reply.valve)}${stands(book, reply)}`);
    case 'entered':
      return sentence(`${what(book, reply.entry, reply.valve)}${afterwards(book, reply)}`);
    case 'asked':
      return question(book, reply.entry, reply.valve, reply.why);
    case 'refused':
      return sentence(refusal(book, reply));
  }
}

/** What an entry says, with its valve: "intake two, 7 thou". */
export function what(book: Book, entry: Entry, valve: ValveId | null): string {
  const figure = meaning(book, entry);
  const named = 'valve' in entry ? (entry.valve ?? valve) : null;
  return named ? `${idWords(named)}, ${figure}` : figure;
}

function meaning(book: Book, entry: Entry): string {
  const { unit } = book.sheet.clearance.intake.wanted;
  switch (entry.type) {
    case 'counted':
      return `${entry.number} ${countedThing(book)}`.trim();
    case 'brought': {
      const name = entry.what ?? itemsOut(book)[0]?.what ?? '';
      return `${entry.number} more ${name} brought in`;
    }
    case 'markSeen':
      return entry.cylinder === null ? 'mark seen' : `cylinder ${cardinalWords(entry.cylinder)}, mark seen`;
    case 'overshot':
      return 'overshot. Go on two full turns, never back';
    case 'rocked':
      return entry.play === 'none' ? 'no play' : `play on ${entry.play}`;
    case 'watched':
      return `valves ${entry.valves}`;
    case 'gauged': {
      const reading = entry.reading ? clearanceInBoth(entry.reading, unit) : '';
      const drag = entry.feel === 'light' ? 'light drag' : entry.feel ? `drag ${entry.feel}` : '';
      return [reading, drag].filter(Boolean).join(', ');
    }
    case 'proofed':
      return entry.verdict === 'too wide' ? 'too loose' : entry.verdict;
    case 'dragChanged':
      return 'drag changed. Set it again';
    case 'play':
      return entry.has ? 'play okay' : 'no play';
    case 'choose':
      return entry.set === 'all' ? 'set all' : 'only those outside';
    case 'skip':
      return `left out, ${entry.reason}. It will be listed as not done`;
    case 'gasket':
      return `gasket ${entry.is}`;
    case 'leak':
      return entry.found ? 'leak found' : 'no leak';
    case 'goBack':
      return 'go back';
    case 'lost':
      return 'mark lost';
    case 'sayAgain':
      return 'say again';
    case 'standBy':
      return 'stand by';
    case 'carryOn':
      return 'carry on';
    default:
      return entry.type;
  }
}

/** What the last count was a count of; nothing while it is only asked. */
function countedThing(book: Book): string {
  const step = book.kept[book.kept.length - 1]?.step;
  if (book.reply.kind !== 'entered') return '';
  if (step === 'handStart') return 'fasteners started';
  if (step === 'coverOff') return 'fasteners off';
  const out = book.tally.filter((item) => item.out !== null);
  return step === 'countOut'
    ? `${out[out.length - 1]?.what} out`
    : `${book.tally[book.tally.length - 1]?.what} in`;
}

function afterwards(book: Book, reply: Extract<Reply, { kind: 'entered' }>): string {
  const { entry, valve } = reply;
  if (entry.type === 'rocked' && entry.play === 'some')
    return '. A valve may be closed up, a finding. Check by movement';
  if (entry.type !== 'gauged') return '';
  const last = book.kept[book.kept.length - 1];
  const record = valve ? book.valves[valve] : undefined;
  if (last?.step === 'setDrag' && record?.phase === 'set' && record.set) {
    return entry.reading ? ', set' : `, set at ${clearanceWords(record.set)}`;
  }
  return '';
}

/** A nut that was turned stays turned, whatever is taken back. */
function stands(book: Book, { entry, valve }: Extract<Reply, { kind: 'corrected' }>): string {
  const record = valve ? book.valves[valve] : undefined;
  if (entry.type === 'loosened' && record?.phase === 'loosened')
    return '. It still counts as loose, and will be set';
  if (entry.type === 'torqued' && record?.locked) return '. It still counts as torqued';
  return '';
}

const ASKED: Record<AskReason, string> = {
  doubted: '',
  outside: ' That is outside the limits.',
  'other unit': '',
  count: ' That is not the number of the sheet.',
  'fasteners differ': ' That is not what came off. Is every one accounted for?',
  'no play': ' Without play the valve has to be set again.',
  overdue: ' An instrument is overdue for calibration.',
  inspector: '',
};

function question(book: Book, entry: Entry, valve: ValveId | null, why: readonly AskReason[]): string {
  if (why.includes('inspector')) {
    return `Is it you, ${book.inspector ?? 'the inspector'}, who inspected, and did somebody else do the work? Affirm or negative.`;
  }
  return `${what(book, entry, valve).replace(/^./, (letter) => letter.toUpperCase())}?${why.map((reason) => ASKED[reason]).join('')} Affirm or negative.`;
}

function refusal(book: Book, why: Refusal): string {
  switch (why.why) {
    case 'wrong valve':
      return `no. ${idWords(why.due)} is due, not ${idWords(why.said)}`;
    case 'wrong cylinder':
      return `no. cylinder ${cardinalWords(why.due)} is due, not cylinder ${cardinalWords(why.said)}. The firing order is kept`;
    case 'outside': {
      const { wanted } = book.sheet.clearance[dueSide(book)];
      return `not entered. That blade is outside the limits; the sheet wants ${clearanceWords(wanted)}`;
    }
    case 'no blade':
      return 'not entered. Name the blade first';
    case 'drag':
      return book.step === 'setDrag'
        ? `${why.feel === 'tight' ? 'Too tight: screw out a little' : 'Too loose: screw in a little'}, then gauge again`
        : 'not entered. Find the blade that drags lightly';
    case 'loosened':
      return 'no. It was loosened, so it has to be set, torqued, gauged and proved';
    case 'count':
      return book.step === 'handStart'
        ? `no. ${why.said} are started, but the sheet has ${why.in}. Find what is missing`
        : `${why.said} out, but ${why.in} went in. ${
            why.said < why.in
              ? 'Find what is missing before the cover goes on'
              : 'Count again, or say bring in, and how many were brought later'
          }`;
    case 'gasket':
      return 'no. The old gasket may not be used again here. Fit a new one';
    case 'wrong engine':
      return 'then choose the right data sheet first';
    case 'condition':
      return 'then wait. The clearance holds only in that condition';
    case 'instruments':
      return 'then fetch them first, or begin anew with the right ones';
    case 'no inspector':
      return 'no. The inspector must be somebody else than the one who signed';
    case 'none counted':
      return 'not entered. None is no count; say how many';
    case 'nothing to correct':
      return `there is nothing to take back${book.past.length > 0 ? '. Say go back for earlier steps' : ''}`;
    case 'paused':
      return '';
    case 'not now':
      return 'not now. First do what is due';
  }
}

function dueSide(book: Book): 'intake' | 'exhaust' {
  const station = book.stations[book.station];
  return station?.valves[book.place ?? 0]?.side ?? 'intake';
}
