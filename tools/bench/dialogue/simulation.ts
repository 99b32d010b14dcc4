// Whole sessions through the real Session and machine. What reaches it is what an ear made of what was said; what stays
// in the record is held against what was meant.
import type { Heard } from '../../../src/hearing/recogniser.ts';
import { meaningOf } from '../../../src/phrases/grammar.ts';
import { otherWays } from '../../../src/phrases/prompts.ts';
import { graphFor, vocabulary } from '../../../src/phrases/vocabulary.ts';
import { type Book, dueValve, itemDue, itemsOut, mayBring, needsCrank } from '../../../src/procedure/book.ts';
import type { Entry, Said } from '../../../src/procedure/entry.ts';
import type { Going } from '../../../src/procedure/fold.ts';
import { type Outcome, Session } from '../../../src/session.ts';
import type { Sheet } from '../../../src/trade/sheet.ts';
import { rehearsal } from '../../plan.ts';
import { listOf, type Tier, type Wanted } from './measured.ts';
import { Answers, kindOf, same } from './mechanic.ts';

/** What an ear makes of a sentence at a state. */
export type SimulatedEar = (wanted: Wanted) => Promise<{ tier: Tier; text: string | null }>;

/** How a mechanic listens. */
export interface Listener {
  /** Of the wrong read-backs and questions, the share that is not noticed. */
  readonly misses: number;
  /** Whether a wrong question that was answered with a yes leads to a read-back that is not noticed either. */
  readonly missesBoth?: boolean;
}

export interface Tally {
  sessions: number;
  signed: number;
  /** Entries that reached the record, with those taken back; those that stand; and of these the values. */
  entries: number;
  standing: number;
  values: number;
  /** Wrong ones that stand and were not noticed, of all entries and of the figures, counts and verdicts. */
  unnoticed: number;
  unnoticedValues: number;
  /** Noticed and taken back; noticed, and not to be taken back any more. */
  corrected: number;
  stuck: number;
  /** Read back or asked, and not what was meant. */
  wrongHeard: number;
  valves: number;
  /** During the steps of the valves. */
  questions: number;
  utterances: number;
  seconds: number;
  /** Entries by button, for the ear did not understand. */
  byHand: number;
}

export const emptyTally = (): Tally => ({
  sessions: 0,
  signed: 0,
  entries: 0,
  standing: 0,
  values: 0,
  unnoticed: 0,
  unnoticedValues: 0,
  corrected: 0,
  stuck: 0,
  wrongHeard: 0,
  valves: 0,
  questions: 0,
  utterances: 0,
  seconds: 0,
  byHand: 0,
});

// The assumptions about time: talk alone, without what the hands do between.
export const WORDS_A_SECOND = 2.5;
/** From the last sound said to the first one of the read-back. */
export const DELAY = 0.3;
/** Until he says again what was not answered. */
export const WAITED = 2;
export const BUTTON = 4;

/** Utterances after the last right entry before he says it otherwise, and before he takes the button. */
const OTHERWISE = 2;
const PATIENCE = 6;
/** Utterances after the last entry of any kind before he gives the session up: a count that does not come out. */
const GIVEN_UP = 20;

const speaking = (text: string) => text.split(/\s+/).filter(Boolean).length / WORDS_A_SECOND;
const HEARD = { confidence: 1, alternatives: [], words: [], from: 0, to: 0, ms: 0 } as const;
const asHeard = ({ tier, text }: { tier: Tier; text: string | null }): Heard => ({
  ...HEARD,
  rejected: tier === 'taken' ? null : tier,
  text: tier === 'taken' || tier === 'unsure' ? text : null,
});

/** All that decides what may be said. */
function placeOf(book: Book, going: Going): string {
  const things = itemsOut(book).map(({ what }) => what);
  return `${book.sheet.id} ${going} ${book.step} ${itemDue(book)} ${mayBring(book)} ${needsCrank(book)} ${things}`;
}

const meanings = new Map<string, Entry>();
/** What a sentence means to him who says it. */
function meantBy(place: string, said: string, book: Book, going: Going): Entry {
  const key = `${place} ${said}`;
  let entry = meanings.get(key);
  if (!entry) {
    entry = meaningOf(vocabulary(book, going), said) ?? undefined;
    if (!entry) throw new Error(`"${said}" cannot be said at ${place}.`);
    meanings.set(key, entry);
  }
  return entry;
}

const entryOf = ({ seq: _s, at: _a, who: _w, confirmed: _c, ...entry }: Said): Entry => entry as Entry;

/** One session from the first caution to the signature, added to a tally. */
export async function simulate(
  sheet: Sheet,
  ear: SimulatedEar,
  listener: Listener,
  next: () => number,
  tally: Tally,
  askAlways = false,
): Promise<void> {
  const session = new Session({
    opening: { ...rehearsal(sheet), askAlways },
    keep: async () => {},
    now: () => '2026-01-01T08:00:00Z',
  });
  const answers = new Answers(next);
  const misses = () => next() < listener.misses;
  /** What he wants to have entered. */
  let meant: Entry | null = null;
  /** Wrong entries by their number, and whether he noticed. */
  const wrong = new Map<number, { noticed: boolean }>();
  let known: number | null = null;
  let question = { seq: 0, missed: false };
  /** Utterances since the last right entry, and since the last of any kind. */
  let vain = 0;
  let here = 0;
  /** The voice has named the buttons. */
  let told = false;
  let length = 0;

  const isWrong = (going: Going, book: Book): boolean =>
    going === 'asking' && book.pending !== null && !same(entryOf(book.pending), meant);

  /** What he says now. */
  const words = (book: Book, going: Going): string | null => {
    if (going === 'asking' && book.pending) {
      if (!isWrong(going, book)) return 'affirm';
      if (question.seq !== book.pending.seq) {
        question = { seq: book.pending.seq, missed: misses() };
        tally.wrongHeard++;
      }
      return question.missed ? 'affirm' : 'negative';
    }
    if (going === 'work' && known !== null) {
      const back = book.kept.filter(({ seq }) => seq >= known!).length;
      const last = book.kept.at(-1)!;
      if (book.kept.some(({ seq, superseded }) => seq === known && superseded)) known = null;
      else if (book.correctable && last.seq === known) return 'correction';
      else if (back <= 3 && book.past.length >= back) return 'go back';
      else known = null;
    }
    return answers.now(book, going, vain >= OTHERWISE && vain % 2 === 0);
  };

  while (!session.isSigned && here < GIVEN_UP) {
    const { book, going } = session;
    const said = words(book, going);
    if (said === null) break;
    const place = placeOf(book, going);
    const entry = meantBy(place, said, book, going);
    if (going !== 'asking') meant = entry;
    const atValve = dueValve(book) !== null;
    let outcome: Outcome;
    let seconds: number;
    if (vain >= PATIENCE || told) {
      outcome = await session.take(entry);
      seconds = BUTTON;
      tally.byHand++;
    } else {
      const list = listOf(place, () => ({
        graph: graphFor(book, going),
        meaning: (sentence) => JSON.stringify(meaningOf(vocabulary(book, going), sentence)),
      }));
      outcome = await session.hear(asHeard(await ear({ said, kind: kindOf(entry), list })));
      seconds = speaking(said) + (outcome.tone === null ? WAITED : DELAY);
      if (atValve) tally.utterances++;
    }
    seconds += speaking(`${outcome.readBack} ${outcome.prompt}`);
    vain++;
    told = outcome.readBack === otherWays;
    if (atValve) {
      tally.seconds += seconds;
      if (outcome.tone === 'asked') tally.questions++;
    }
    if (said === 'go back' && outcome.accepted) known = null;
    const { kept } = session.book;
    here = kept.length > length ? 0 : here + 1;
    for (const each of kept.slice(length)) {
      if (same(each.entry, meant)) {
        vain = 0;
        continue;
      }
      const missedBefore = going === 'asking' && question.missed && question.seq === each.seq;
      // One that was asked was counted with its question.
      if (going !== 'asking') tally.wrongHeard++;
      const noticed = !(missedBefore && listener.missesBoth) && !misses();
      wrong.set(each.seq, { noticed });
      if (noticed) known = each.seq;
    }
    length = kept.length;
  }

  const { kept } = session.book;
  tally.sessions++;
  if (session.isSigned) tally.signed++;
  tally.valves += sheet.valves.length;
  tally.entries += kept.length;
  for (const { seq, entry, superseded } of kept) {
    const fault = wrong.get(seq);
    const isValue = ['figure', 'count', 'verdict'].includes(kindOf(entry));
    if (!superseded) {
      tally.standing++;
      if (isValue) tally.values++;
    }
    if (!fault) continue;
    if (superseded) tally.corrected++;
    else if (fault.noticed) tally.stuck++;
    else {
      tally.unnoticed++;
      if (isValue) tally.unnoticedValues++;
    }
  }
}
