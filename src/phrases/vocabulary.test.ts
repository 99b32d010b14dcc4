// What may be said at each step: every sentence of every list means one thing, and the control words are in all of them.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Book, openBook } from '../procedure/book.ts';
import type { Entry } from '../procedure/entry.ts';
import type { Going } from '../procedure/fold.ts';
import { STEPS, type StepName } from '../procedure/steps.ts';
import { demoSheets } from '../trade/demos.ts';
import type { Sheet } from '../trade/sheet.ts';
import { degrees } from '../trade/units.ts';
import { meaningOf } from './grammar.ts';
import { graphFor, vocabulary } from './vocabulary.ts';
import { countSentences, outgoing, sentencesOf, type WordGraph } from './wordgraph.ts';

const [clinic, pump] = demoSheets as [Sheet, Sheet];
const GOINGS: readonly Going[] = ['work', 'asking', 'standBy', 'stopped', 'offer', 'still'];
const SMALL = 2000;

/** The book of an engine at a step, as it is there. */
function at(step: StepName, sheet: Sheet): Book {
  const opening = {
    sheet,
    mechanic: 'Mechanic',
    inspector: null,
    instruments: [],
    openedAt: '2026-01-02T08:00:00Z',
  };
  const tally = [{ what: 'tools', in: 12, out: null }];
  return { ...openBook(opening), step, crank: degrees(0), toSet: 'all', tally };
}

const lists = demoSheets.flatMap((sheet) =>
  STEPS.flatMap((step) =>
    GOINGS.map((going) => ({ name: `${sheet.id}, ${step}, ${going}`, sheet, step, going })),
  ),
);

/** The ways in which a whole sentence can be read. */
function readings(book: Book, going: Going, sentence: string): Entry[] {
  const words = sentence.split(' ');
  const whole = vocabulary(book, going)
    .read(words, 0)
    .filter(({ next }) => next === words.length);
  return [...new Map(whole.map(({ means }) => [JSON.stringify(means), means])).values()];
}

/** A sentence of a list, each turn taken by a number. */
function sentenceBy(graph: WordGraph, turns: readonly number[]): string {
  const out = outgoing(graph);
  const words: string[] = [];
  for (let state = 0, k = 0; ; k++) {
    const arcs = out[state]!;
    const ends = graph.finals.includes(state);
    const turn = turns[k % turns.length]! % (arcs.length + Number(ends));
    const arc = arcs[turn];
    if (!arc) return words.join(' ');
    words.push(arc.word);
    state = arc.to;
  }
}

const say = (step: StepName, sentence: string, sheet = clinic) =>
  meaningOf(vocabulary(at(step, sheet), 'work'), sentence);

describe('every list', () => {
  const small = lists.filter(
    ({ step, going, sheet }) => countSentences(graphFor(at(step, sheet), going)) <= SMALL,
  );
  const large = lists.filter((list) => !small.includes(list));

  it('of a few sentences has each once, and each means exactly one thing', () => {
    const odd = small.flatMap(({ name, step, going, sheet }) => {
      const book = at(step, sheet);
      const graph = graphFor(book, going);
      const sentences = [...sentencesOf(graph)];
      const twice = new Set(sentences).size === countSentences(graph) ? [] : [`${name}: twice`];
      return [
        ...twice,
        ...sentences
          .filter((words) => readings(book, going, words).length !== 1)
          .map((words) => `${name}: ${words}`),
      ];
    });
    expect(odd).toEqual([]);
    expect(small.length + large.length).toBe(2 * 41 * 6);
    console.log(`${small.length} small lists said through, ${large.length} large ones drawn from`);
  });

  it('of figures means exactly one thing, whatever is drawn from it', () => {
    const graphs = large
      .map((list) => ({ ...list, book: at(list.step, list.sheet) }))
      .map((list) => ({ ...list, graph: graphFor(list.book, list.going) }));
    expect(graphs.length).toBe(2 * 4 * 2);
    fc.assert(
      fc.property(
        fc.constantFrom(...graphs),
        fc.array(fc.nat(), { minLength: 9, maxLength: 9 }),
        (list, turns) => {
          const sentence = sentenceBy(list.graph, turns);
          expect(readings(list.book, list.going, sentence), `${list.name}: ${sentence}`).toHaveLength(1);
        },
      ),
      { seed: 7, numRuns: 600 },
    );
  });

  it('has the five control words, and a paused one only carry on and stop', () => {
    for (const { name, step, going, sheet } of lists) {
      const book = at(step, sheet);
      const heard = ['stop', 'say again', 'stand by', 'carry on', 'correction'].filter((words) =>
        meaningOf(vocabulary(book, going), words),
      );
      const paused = going === 'standBy' || going === 'stopped';
      expect(heard, name).toEqual(
        paused ? ['stop', 'carry on'] : ['stop', 'say again', 'stand by', 'carry on', 'correction'],
      );
      if (paused) expect(countSentences(graphFor(book, going)), name).toBe(2);
    }
  });

  it('takes no word that is not in it', () => {
    for (const { name, step, going, sheet } of lists) {
      const book = at(step, sheet);
      for (const words of ['okay', 'stop stop', 'yes please', 'no', '', 'seventy seven', 'stand']) {
        expect(meaningOf(vocabulary(book, going), words), `${name}: ${words}`).toBeNull();
      }
    }
  });
});

describe('a figure', () => {
  const mm = (value: number) => ({ value, unit: 'mm' });
  const thou = (value: number) => ({ value, unit: 'thou' });
  const figure = (sentence: string, sheet: Sheet) => {
    const entry = say('gauge', sentence, sheet);
    return entry?.type === 'gauged' ? entry.reading : null;
  };

  it('in millimetres is said digit by digit, with the point or without it, or in hundredths', () => {
    for (const words of [
      'one eight',
      'point one eight',
      'decimal one eight',
      'zero point one eight',
      'zero decimal one eight millimetres',
      'eighteen hundredths',
    ])
      expect(figure(words, clinic), words).toEqual(mm(0.18));
    expect(figure('two niner', clinic)).toEqual(mm(0.29));
    expect(figure('zero five', clinic)).toEqual(mm(0.05));
  });

  it('in thousandths is said as a number, digit by digit, or behind point zero', () => {
    for (const words of ['seven', 'seven thou', 'zero seven', 'point zero zero seven', 'seven thousandths'])
      expect(figure(words, pump), words).toEqual(thou(7));
    expect(figure('twelve', pump)).toEqual(figure('one two', pump));
    expect(figure('ten and a half', pump)).toEqual(thou(10.5));
  });

  it('in the other unit is understood only with its word', () => {
    expect(figure('seven thou', clinic)).toEqual(thou(7));
    expect(figure('seven', clinic)).toBeNull();
    expect(figure('two five millimetres', pump)).toEqual(mm(0.25));
    expect(figure('point two five', pump)).toBeNull();
  });

  it('far above the limits cannot be said at all', () => {
    expect(figure('forty six', pump)).toBeNull();
    expect(figure('forty', pump)).toEqual({ value: 40, unit: 'thou' });
    expect(say('setDrag', 'thirty', pump)).toBeNull();
  });

  it('is none at all where not even the thinnest blade goes in', () => {
    for (const step of ['gauge', 'gaugeAgain'] as const)
      expect(say(step, 'intake one no gap', pump)).toMatchObject({ reading: { value: 0, unit: 'thou' } });
    expect(say('setDrag', 'no gap', pump)).toBeNull();
  });
});

describe('a whole valve in one breath', () => {
  it('is a valve, a figure and a drag', () => {
    expect(say('setDrag', 'intake two seven thou drag okay', pump)).toEqual({
      type: 'gauged',
      valve: 'intake-2',
      reading: { value: 7, unit: 'thou' },
      feel: 'light',
    });
    expect(say('setDrag', 'exhaust four bravo point four zero light drag')).toEqual({
      type: 'gauged',
      valve: 'exhaust-4-bravo',
      reading: { value: 0.4, unit: 'mm' },
      feel: 'light',
    });
  });

  it('keeps the number of the cylinder and the figure apart', () => {
    expect(say('gauge', 'intake one one two', pump)).toMatchObject({
      valve: 'intake-1',
      reading: { value: 12 },
    });
    expect(say('gauge', 'intake one two', pump)).toMatchObject({ valve: 'intake-1', reading: { value: 2 } });
  });

  it('is also understood in parts: the blade, then the drag', () => {
    expect(say('setDrag', 'point four zero')).toMatchObject({ reading: { value: 0.4 }, feel: null });
    expect(say('setDrag', 'drag tight')).toMatchObject({ reading: null, feel: 'tight' });
    expect(say('gaugeAgain', 'drag tight')).toBeNull();
  });
});

describe('a count', () => {
  it('is a number, alone or with the thing that is being counted', () => {
    expect(say('countIn', 'twelve tools')).toEqual({ type: 'counted', number: 12 });
    expect(say('packTowels', 'four')).toEqual({ type: 'counted', number: 4 });
    expect(say('turningTool', 'one turning tool')).toEqual({ type: 'counted', number: 1 });
    expect(say('countOut', 'zero tools')).toEqual({ type: 'counted', number: 0 });
  });

  it('of another thing is not understood', () => {
    expect(say('countIn', 'twelve towels')).toBeNull();
    expect(say('countOut', 'twelve towels')).toBeNull();
  });
});

it('leaving out names the due valve, so that it cannot hit another', () => {
  expect(say('gauge', 'skip out of reach')).toEqual({
    type: 'skip',
    valve: 'exhaust-1-alpha',
    reason: 'out of reach',
  });
});

it('a mark may be named by its cylinder', () => {
  expect(say('turn', 'cylinder three on the mark')).toEqual({ type: 'markSeen', cylinder: 3 });
  expect(say('turn', 'mark seen')).toEqual({ type: 'markSeen', cylinder: null });
});
