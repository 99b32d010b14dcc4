// What is said: a prompt for every step, the read-back of every value, a reason for every refusal; and what can be touched.
import { describe, expect, it } from 'vitest';
import { type Book, FASTENERS, openBook, type Reply } from '../procedure/book.ts';
import type { Going } from '../procedure/fold.ts';
import { STEPS, type StepName } from '../procedure/steps.ts';
import { demoSheets } from '../trade/demos.ts';
import type { Sheet } from '../trade/sheet.ts';
import { degrees } from '../trade/units.ts';
import { choicesFor, examples } from './choices.ts';
import { meaningOf } from './grammar.ts';
import { otherWays, prompt, shortPrompt } from './prompts.ts';
import { readBack } from './readback.ts';
import { clearanceInBoth, clearanceWords, idWords, sentence, torqueWords } from './spoken.ts';
import { vocabulary } from './vocabulary.ts';

const [clinic, pump] = demoSheets as [Sheet, Sheet];
const GOINGS: readonly Going[] = ['work', 'asking', 'standBy', 'stopped', 'offer', 'still'];

function at(step: StepName, sheet: Sheet, more: Partial<Book> = {}): Book {
  const opening = {
    sheet: { ...sheet, sealant: { what: 'sealant', where: 'at the corners' } },
    mechanic: 'Mechanic',
    inspector: 'Inspector',
    instruments: [
      { what: 'feeler gauge', id: 'F 1', due: '2026-01-01' },
      { what: 'torque wrench', id: 'T 1', due: '2026-12-31' },
    ] as const,
    openedAt: '2026-01-02T08:00:00Z',
  };
  const tally = [
    { what: FASTENERS, in: sheet.cover.fasteners, out: null },
    { what: 'tools', in: 12, out: null },
  ];
  return { ...openBook(opening), step, crank: degrees(0), toSet: 'all', tally, ...more };
}
const said = (reply: Reply, step: StepName = 'gauge', sheet = pump) => readBack(at(step, sheet, { reply }));
const FIGURES = new Set<StepName>([
  'countIn',
  'packTowels',
  'coverOff',
  'turningTool',
  'handStart',
  'gaugeAgain',
  'countOut',
  'gauge',
  'setDrag',
  'proof',
]);

describe('a prompt', () => {
  it('is there for every step and every interruption, as whole sentences', () => {
    for (const sheet of demoSheets)
      for (const step of STEPS)
        for (const going of GOINGS) {
          const words = prompt(at(step, sheet), going);
          expect(words, `${step} ${going}`).toMatch(/^[A-Z0-9].*[.?]$/);
          expect(words, `${step} ${going}`).not.toMatch(/undefined|null|NaN|\.\./);
        }
  });

  it('names the valve with its blade, in the unit of the sheet', () => {
    expect(prompt(at('setDrag', clinic), 'work')).toBe(
      'Exhaust one alpha, blade 0.40 millimetres. Run the screw down to a light drag.',
    );
    expect(prompt(at('setDrag', pump), 'work')).toContain('Intake one, blade 10 thou.');
  });

  it('says the turning direction at the tool where a gear reverses it', () => {
    expect(prompt(at('referenceTurn', pump), 'work')).toContain(
      'anticlockwise, seen from the pump end, at the tool clockwise, never back',
    );
  });

  it('says the torque, tightening only, and the order of the cover backwards when it comes off', () => {
    expect(prompt(at('torque', pump), 'work')).toBe(
      'Hold the screw. Torque the nut to 130 inch pounds, tightening only.',
    );
    expect(prompt(at('coverOff', pump), 'work')).toContain('6, 1, 5, 2, 4, 3');
    expect(prompt(at('tighten', pump), 'work')).toContain('3, 4, 2, 5, 1, 6');
  });

  it('warns of an overdue instrument', () => {
    expect(prompt(at('instruments', pump), 'work')).toContain('Overdue for calibration: feeler gauge.');
  });

  it('after being heard doubtfully names choices that can be said', () => {
    for (const sheet of demoSheets)
      for (const step of STEPS)
        for (const going of GOINGS) {
          const book = at(step, sheet);
          const unknown = examples(book, going).filter((words) => !meaningOf(vocabulary(book, going), words));
          expect(unknown, `${step} ${going}`).toEqual([]);
          if (step !== 'closed') expect(examples(book, going).length, step).toBeGreaterThan(0);
        }
    expect(shortPrompt(examples(at('gasketLook', pump), 'work'))).toBe(
      'Say: gasket good, or gasket damaged.',
    );
    expect(otherWays).toMatch(/buttons.*keys.*pedal/);
  });
});

describe('what can be touched', () => {
  it('is offered at every step, unless its value goes through the number pad', () => {
    for (const step of STEPS)
      for (const going of GOINGS) {
        const offered = choicesFor(at(step, clinic), going);
        const bare = going === 'work' && (step === 'closed' || FIGURES.has(step));
        if (!bare)
          expect(offered.filter(({ weight }) => weight === 'main').length, `${step} ${going}`).toBe(1);
        const keys = offered.map(({ key }) => key);
        expect(new Set(keys).size, `${step} ${going}`).toBe(keys.length);
      }
  });
});

describe('a read-back', () => {
  const gauged = { type: 'gauged', valve: null, feel: null } as const;
  const thou = (value: number) => ({ value, unit: 'thou' }) as const;
  const mm = (value: number) => ({ value, unit: 'mm' }) as const;

  it('is one value and where it went', () => {
    expect(said({ kind: 'entered', valve: 'intake-2', entry: { ...gauged, reading: thou(7) } })).toBe(
      'Intake two, 7 thou.',
    );
    expect(said({ kind: 'entered', valve: null, entry: { type: 'counted', number: 12 } })).toBe(
      '12 tools in.',
    );
    expect(
      said({
        kind: 'entered',
        valve: 'exhaust-3',
        entry: { type: 'proofed', valve: null, verdict: 'too wide' },
      }),
    ).toBe('Exhaust three, too loose.');
  });

  it('of a figure in the other unit is a question with both figures', () => {
    const entry = { ...gauged, reading: thou(7) };
    expect(
      said({ kind: 'asked', valve: 'intake-2-alpha', why: ['other unit'], entry }, 'gauge', clinic),
    ).toBe('Intake two alpha, 7 thou, that is 0.178 millimetres? Affirm or negative.');
    expect(
      said({
        kind: 'asked',
        valve: 'intake-2',
        why: ['other unit'],
        entry: { ...gauged, reading: mm(0.25) },
      }),
    ).toBe('Intake two, 0.25 millimetres, that is 9.8 thou? Affirm or negative.');
  });

  it('of a refusal gives the reason', () => {
    expect(said({ kind: 'refused', why: 'count', what: 'tools', in: 12, said: 11 })).toBe(
      '11 out, but 12 went in. Find what is missing before the cover goes on.',
    );
    expect(said({ kind: 'refused', why: 'gasket' })).toContain('Fit a new one.');
    expect(said({ kind: 'refused', why: 'outside' }, 'setDrag')).toContain('the sheet wants 10 thou');
    expect(said({ kind: 'refused', why: 'drag', feel: 'loose' }, 'setDrag')).toContain('screw in a little');
    expect(said({ kind: 'refused', why: 'drag', feel: 'loose' }, 'gaugeAgain')).toContain('Find the blade');
  });

  it('is silent where the next prompt says it all', () => {
    for (const kind of ['opened', 'again', 'stopped', 'standingBy', 'carryingOn'] as const)
      expect(said({ kind })).toBe('');
    expect(said({ kind: 'refused', why: 'paused' })).toBe('');
  });
});

describe('things of the trade in words', () => {
  it('valves, clearances and torques are said as a mechanic says them', () => {
    expect(idWords('exhaust-12-front')).toBe('exhaust twelve front');
    expect(clearanceWords({ value: 0.4, unit: 'mm' })).toBe('0.40 millimetres');
    expect(clearanceWords({ value: 10.5, unit: 'thou' })).toBe('10.5 thou');
    expect(clearanceInBoth({ value: 7, unit: 'thou' }, 'thou')).toBe('7 thou');
    expect(torqueWords({ value: 22, unit: 'N·m' })).toBe('22 newton metres');
    expect(sentence('drag okay')).toBe('Drag okay.');
    expect(sentence('how many?')).toBe('How many?');
  });
});
