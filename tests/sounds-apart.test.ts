// Whether what may be said at one moment sounds apart: in every list, phrases of different meaning must differ by more
// than a floor, in nats that the ear itself would lose in noise. A valve's name and a figure are compared as words in their
// own place.
import { describe, expect, it } from 'vitest';
import shipped from '../models/lexicon.json' with { type: 'json' };
import { readLexicon, unpronounceable } from '../src/hearing/lexicon.ts';
import { meaningOf } from '../src/phrases/grammar.ts';
import { cardinalWords } from '../src/phrases/numbers.ts';
import { graphFor, vocabulary } from '../src/phrases/vocabulary.ts';
import { sentencesOf, wordsOf } from '../src/phrases/wordgraph.ts';
import { type Book, FASTENERS, openBook } from '../src/procedure/book.ts';
import type { Going } from '../src/procedure/fold.ts';
import { STEPS, type StepName } from '../src/procedure/steps.ts';
import { demoSheets } from '../src/trade/demos.ts';
import type { Sheet } from '../src/trade/sheet.ts';
import { degrees } from '../src/trade/units.ts';
import { apart, readAlike } from './apart.ts';

const lexicon = readLexicon(shipped);
const alike = readAlike(new URL('data/hearing/alike.tsv', import.meta.url));
const GOINGS: readonly Going[] = ['work', 'asking', 'standBy', 'stopped', 'offer', 'still'];
const MARKS = ['front', 'rear', 'left', 'right', 'alpha', 'bravo'];

/**
 * Nats between two phrases, one said and the other heard. The verdict asks where the best sentence leads by less than 4; these
 * are means over sounds in noise, so the floor is higher. The nearest pair left is "torqued" and "marked" (10.8), words of the
 * trade with no others for them, each with a second way to say it; a nearer phrase gets another wording.
 */
const FLOOR = 10;

/**
 * Numbers cannot be renamed. Each of these can be said digit by digit instead, is read back, and is asked about where it
 * lies outside the limits or against the count.
 */
const UNAVOIDABLE = [
  'thirteen / fourteen',
  'thirteen / eighteen',
  'thirty / forty',
  'thirty / eighty',
  'seven / seventy',
  'eight / eighty',
  'thirteen / thirty',
  'fourteen / forty',
  'fifteen / fifty',
  'sixteen / sixty',
  'seventeen / seventy',
  'eighteen / eighty',
  'nineteen / ninety',
];

function at(step: StepName, sheet: Sheet): Book {
  const opening = {
    sheet,
    mechanic: 'Mechanic',
    inspector: null,
    instruments: [],
    openedAt: '2026-01-02T08:00:00Z',
  };
  return {
    ...openBook(opening),
    step,
    crank: degrees(0),
    toSet: 'all',
    tally: [
      { what: 'tools', in: 1, out: null },
      { what: FASTENERS, in: 1, out: null },
    ],
  };
}

/** The engine with one cylinder: the other names differ in the place of the number only. */
function smallest(sheet: Sheet): Sheet {
  const valves = sheet.valves.filter(({ cylinder }) => cylinder === 1);
  const cylinders = sheet.cylinders.filter(({ number }) => number === 1);
  return { ...sheet, cylinders, valves, firingOrder: [1] };
}

const NUMBERS = [
  ...new Set(Array.from({ length: 100 }, (_, number) => cardinalWords(number).split(' ')).flat()),
];
/** A number that is not that of a cylinder. */
const FIGURE = new RegExp(`(?<!(?:intake|exhaust|cylinder) )\\b(?:${NUMBERS.join('|')}|niner)\\b`);

/** The commands of a list, without those that carry a figure. */
function commands(book: Book, going: Going): { words: string; means: string }[] {
  const phrase = vocabulary(book, going);
  return [...sentencesOf(graphFor(book, going))]
    .filter((words) => !FIGURE.test(words))
    .map((words) => ({ words, means: JSON.stringify(meaningOf(phrase, words)) }));
}

const known = new Map<string, number>();
function distanceOf(a: string, b: string): number {
  const pair = `${a} / ${b}`;
  const nats = known.get(pair) ?? apart(lexicon, a, b, alike);
  known.set(pair, nats);
  return nats;
}

/** Every pair of different meaning that is nearer than the floor: "drag light / drag tight 0.80". */
function near(said: readonly { words: string; means: string }[]): string[] {
  return said.flatMap((a, k) =>
    said.slice(k + 1).flatMap((b) => {
      if (a.means === b.means) return [];
      const nats = distanceOf(a.words, b.words);
      return nats < FLOOR ? [`${a.words} / ${b.words} ${nats.toFixed(1)}`] : [];
    }),
  );
}
const asWords = (words: readonly string[]) => words.map((word) => ({ words: word, means: word }));

it('every word that can be said has its pronunciation in the app', () => {
  const words = new Set(MARKS);
  for (let number = 0; number < 100; number++)
    for (const word of cardinalWords(number).split(' ')) words.add(word);
  for (const sheet of demoSheets)
    for (const step of STEPS)
      for (const going of GOINGS)
        for (const word of wordsOf(graphFor(at(step, sheet), going))) words.add(word);
  expect(unpronounceable(lexicon, words)).toEqual([]);
});
describe('what may be said at one moment sounds apart', () => {
  const sheets = demoSheets.map(smallest);

  it('in every list of commands', () => {
    const lists = sheets.flatMap((sheet) =>
      STEPS.flatMap((step) =>
        GOINGS.map((going) => ({ where: `${step}, ${going}`, said: commands(at(step, sheet), going) })),
      ),
    );
    const tooNear = lists.flatMap(({ where, said }) => near(said).map((pair) => `${where}: ${pair}`));
    expect(tooNear).toEqual([]);
    const compared = lists.reduce((sum, { said }) => sum + (said.length * (said.length - 1)) / 2, 0);
    console.log(`${lists.length} lists, ${compared} pairs compared, none under ${FLOOR} nats`);
  });

  it('in the place of a number, but for those that cannot be renamed', () => {
    const tooNear = near(asWords(NUMBERS)).map((pair) => pair.replace(/ [\d.]+$/, ''));
    expect(tooNear.sort()).toEqual([...UNAVOIDABLE].sort());
  });

  it('in the place of a side or a mark', () => {
    expect(near(asWords(['intake', 'exhaust', ...MARKS]))).toEqual([]);
  });

  it('and the measure finds what does not: tight and light, two and tools', () => {
    expect(near(asWords(['drag light', 'drag tight']))).toHaveLength(1);
    expect(near(asWords(['twenty two', 'twenty tools']))).toHaveLength(1);
  });
});
