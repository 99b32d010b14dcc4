// The tools' mechanic gets through every valid sheet, and says so plainly where a sheet cannot be gone through.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { meaningOf } from '../src/phrases/grammar.ts';
import { figureWords } from '../src/phrases/numbers.ts';
import { graphFor, vocabulary } from '../src/phrases/vocabulary.ts';
import { begin, goingOn, placeName } from '../src/procedure/fold.ts';
import { demoSheets } from '../src/trade/demos.ts';
import { inside } from '../src/trade/gauge.ts';
import { readSheet, type Sheet } from '../src/trade/sheet.ts';
import { Refusal } from './files.ts';
import { answer, Mechanic } from './mechanic.ts';
import { everyMoment, everyState, rehearsal } from './plan.ts';

const POLDER = readFileSync(new URL('../src/trade/sheets/polder-pump-six.json', import.meta.url), 'utf8');

// biome-ignore lint/suspicious/noExplicitAny: a sheet is bent here
function bent(bend: (sheet: any) => void): Sheet {
  const data = JSON.parse(POLDER);
  bend(data);
  const result = readSheet(data);
  if (!result.ok) throw new Error(result.faults.join(' '));
  return result.sheet;
}

const clearance = (value: number, unit: 'mm' | 'thou', minus: number, plus: number) =>
  bent((sheet) => {
    for (const side of ['intake', 'exhaust'])
      sheet.clearance[side] = { wanted: { value, unit }, minus, plus };
  });

describe('the mechanic', () => {
  it.each([
    [7.5, 'thou', 0.5, 0],
    [1, 'thou', 0.9, 5],
    [60, 'thou', 5, 5],
    [0.01, 'mm', 0, 0.5],
    [0.99, 'mm', 0.1, 0.1],
    [0.29, 'mm', 0.01, 0.02],
  ] as const)('goes through a sheet that wants %d %s, minus %d plus %d', (value, unit, minus, plus) => {
    const sheet = clearance(value, unit, minus, plus);
    const states = everyState(sheet);
    expect([...states.keys()]).toContain('inspect@-/-');
    for (const { context } of states.values()) {
      if (context.step !== 'gauge') continue;
      const words = answer(context, 'work')!;
      const entry = meaningOf(vocabulary(context, 'work'), words);
      expect(entry, words).toMatchObject({ type: 'gauged' });
      if (entry?.type === 'gauged') expect(inside(entry.reading!, sheet.clearance.intake), words).toBe(true);
    }
  });

  it('says only the number of things whose name the ear does not know', () => {
    const sheet = bent((data) => {
      data.counted[0].what = 'magnets';
    });
    const answers = (of: Sheet) => [...everyState(of).values()].map(({ context }) => answer(context, 'work'));
    expect(answers(sheet)).toContain('ten');
    expect(answers(bent(() => {}))).toContain('twelve tools');
    expect(answers(bent(() => {}))).not.toContain('ten');
  });

  it('says halves of a thou', () => {
    expect(figureWords({ value: 7.5, unit: 'thou' })).toBe('seven and a half thou');
    expect(figureWords({ value: 0.29, unit: 'mm' })).toBe('point two nine');
  });

  it('refuses to begin what cannot be said, and names it', () => {
    const sheet = clearance(10, 'thou', 1, 1);
    const limits = { wanted: { value: 70, unit: 'thou' as const }, minus: 0, plus: 0 };
    const unsayable = { ...sheet, clearance: { ...sheet.clearance, intake: limits, exhaust: limits } };
    expect(() => everyState(unsayable)).toThrow(Refusal);
    expect(() => everyState(unsayable)).toThrow('"seventy thou" cannot be said at the step "gauge"');
  });

  it('may be given an answer that means nothing', () => {
    const moment = begin(rehearsal(clearance(10, 'thou', 1, 1)));
    expect(new Mechanic().next(moment.context, goingOn(moment), 'nonsense')).toBe('nonsense');
  });
});

describe('the name of a state', () => {
  it.each(demoSheets.map((sheet) => [sheet.title, sheet] as const))(
    'stands for one list of phrases, %s',
    (_, sheet) => {
      const lists = new Map<string, string>();
      for (const moment of everyMoment(sheet)) {
        const list = JSON.stringify(graphFor(moment.context, goingOn(moment)));
        const name = placeName(moment);
        expect(lists.get(name) ?? list, name).toBe(list);
        lists.set(name, list);
      }
      expect(lists.size).toBe(everyState(sheet).size);
    },
  );
});
