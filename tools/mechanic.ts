// A practised mechanic at an invented engine: the right answer, in words, to whatever is due. It drives rehearsals and
// the robot in the browser tests; what it "measures" is made up from the valve's name, the same every time.

import { meaningOf } from '../src/phrases/grammar.ts';
import { cardinalWords, figureWords } from '../src/phrases/numbers.ts';
import { valveWords } from '../src/phrases/spoken.ts';
import { graphFor, vocabulary } from '../src/phrases/vocabulary.ts';
import { countSentences, sentencesOf } from '../src/phrases/wordgraph.ts';
import {
  type Book,
  type Counted,
  dueStation,
  dueValve,
  inOrder,
  itemsFor,
  itemsOut,
  TURNING_TOOL,
} from '../src/procedure/book.ts';
import type { Entry, Said } from '../src/procedure/entry.ts';
import type { Going } from '../src/procedure/fold.ts';
import { inside } from '../src/trade/gauge.ts';
import { speakable } from '../src/trade/sheet.ts';
import type { Clearance } from '../src/trade/units.ts';
import { Refusal } from './files.ts';

/** A mechanic who listens to the read-back: takes back what was heard wrongly, and says again what was not heard. */
export class Mechanic {
  #meant: Entry | null = null;
  #kept = 0;
  #said = '';
  /** How often that was said in vain. */
  #vain = 0;

  /**
   * What to say now; null where the session is over.
   * @param own the answer that this mechanic would give, where it is another than the practised one
   */
  next(book: Book, going: Going, own: string | null = null): string | null {
    const last = book.kept.at(-1);
    const heardWrongly =
      book.kept.length > this.#kept && last && !last.superseded && !same(last.entry, this.#meant);
    this.#kept = book.kept.length;
    if (going === 'asking' && book.pending)
      return same(entryOf(book.pending), this.#meant) ? 'affirm' : 'negative';
    if (heardWrongly && this.#meant && book.correctable && going === 'work') return 'correction';
    const words = own ?? answer(book, going);
    if (words === null) this.#meant = null;
    else this.#meant = own === null ? meant(book, going, words) : meaningOf(vocabulary(book, going), own);
    return words === null ? null : this.#inOtherWords(book, going, words);
  }

  /** What was not heard twice is said in other words, where the step knows some. */
  #inOtherWords(book: Book, going: Going, words: string): string {
    const place = `${book.kept.length} ${going} ${words}`;
    this.#vain = place === this.#said ? this.#vain + 1 : 0;
    this.#said = place;
    const ways = this.#vain < 2 ? [] : sameMeaning(book, going, words);
    return ways.length === 0 ? words : ways[this.#vain % ways.length]!;
  }
}

/** Every way to say the same, where the list is not too long to look through. */
function sameMeaning(book: Book, going: Going, words: string): string[] {
  const list = graphFor(book, going);
  if (countSentences(list) > 500) return [];
  const phrase = vocabulary(book, going);
  return [...sentencesOf(list)].filter((other) => same(meaningOf(phrase, other)!, meaningOf(phrase, words)));
}

const same = (a: Entry, b: Entry | null) => JSON.stringify(a) === JSON.stringify(b);

function entryOf({ seq: _s, at: _a, who: _w, confirmed: _c, ...entry }: Said): Entry {
  return entry as Entry;
}

/** What an answer means now. @throws Refusal where it cannot be said, for then the session would come to no end */
export function meant(book: Book, going: Going, words: string): Entry {
  const entry = meaningOf(vocabulary(book, going), words);
  if (!entry) throw new Refusal(`"${words}" cannot be said at the step "${book.step}" of this sheet.`);
  return entry;
}

/** The sentence that a session without hitches wants now; null where it is over. */
export function answer(book: Book, going: Going): string | null {
  if (going === 'standBy' || going === 'stopped') return 'carry on';
  if (going === 'offer') return 'negative';
  if (going !== 'work') return 'affirm';
  switch (book.step) {
    case 'cautions':
    case 'clearAway':
    case 'sealant':
    case 'tighten':
    case 'leakStop':
      return 'done';
    case 'identify':
    case 'condition':
    case 'instruments':
    case 'surveyChoice':
    case 'compare':
    case 'runChecks':
      return 'affirm';
    case 'countIn':
      // Ten of what has no name: the ear does not take a lone "twelve" from the built-in voice slt.
      return countWords(book, 12, itemsFor(book, 'start')[book.nth]!, 10);
    case 'packTowels':
      return countWords(book, 4, itemsFor(book, 'towels')[book.nth]!);
    case 'coverOff':
    case 'handStart':
      return `${cardinalWords(book.sheet.cover.fasteners)} fasteners`;
    case 'gasketLook':
      return 'gasket good';
    case 'turningTool':
      return `one ${TURNING_TOOL}`;
    case 'referenceTurn':
    case 'referenceOn':
    case 'proofTurns':
    case 'proofAgain':
      return 'mark seen';
    case 'turn':
      return `cylinder ${cardinalWords(dueStation(book).cylinder)} mark seen`;
    case 'referencePlay':
      return 'play on all';
    case 'referenceWatch':
      return 'resting';
    case 'gauge':
      return figureWords(foundAt(book));
    case 'choice':
      return 'set all';
    case 'loosen':
    case 'loosenAgain':
      return 'loosened';
    case 'setDrag':
      return book.blade
        ? 'drag okay'
        : `${valveWords(dueValve(book)!.valve)} ${figureWords(wanted(book))} drag okay`;
    case 'nip':
      return 'nipped';
    case 'torque':
      return 'torqued';
    case 'gaugeAgain':
      return figureWords(wanted(book));
    case 'paint':
      return 'marked';
    case 'playCheck':
      return 'play okay';
    case 'proof':
      return 'pass';
    case 'countOut':
      return outWords(book, itemsOut(book)[book.nth]!);
    case 'gasketFit':
      return 'new gasket';
    case 'leakRun':
      return 'no leak';
    case 'sign':
      return 'signed';
    case 'inspect':
      return 'inspected';
    case 'closed':
      return null;
  }
}

const outWords = (book: Book, item: Counted) => countWords(book, item.in, item.what);

/** "twelve tools", or the number alone where the ear does not know the word for the things. */
function countWords(book: Book, number: number, what: string, alone = number): string {
  const words = `${cardinalWords(number)} ${what}`;
  return meaningOf(vocabulary(book, 'work'), words) ? words : cardinalWords(alone);
}

function wanted(book: Book): Clearance {
  return book.sheet.clearance[dueValve(book)!.valve.side].wanted;
}

/** Somewhat worn, one way or the other, where that is within the limits and can be said. */
function foundAt(book: Book): Clearance {
  const record = dueValve(book)!;
  const limits = book.sheet.clearance[record.valve.side];
  const step = limits.wanted.unit === 'mm' ? 0.02 : 1;
  const wear = (inOrder(book).findIndex((other) => other.id === record.id) % 3) - 1;
  const worn = { ...limits.wanted, value: limits.wanted.value + wear * step };
  return inside(worn, limits) && speakable(worn) ? worn : limits.wanted;
}
