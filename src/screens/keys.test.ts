// The keys of the bench, and what typed figures are read as.
import { describe, expect, it } from 'vitest';
import { entryOf, pedalledBy, typedBy } from './keys.ts';
import type { Choice } from './view.ts';
import { typedCount, typedReading } from './words.ts';

const yes: Choice = { label: 'Yes', entry: { type: 'affirm' }, key: 'y', weight: 'main' };
const no: Choice = { label: 'No', entry: { type: 'negative' }, key: 'n', weight: 'other' };

describe('a pedal with two buttons', () => {
  it('answers a question with yes and no', () => {
    const moment = { going: 'asking', choices: [yes, no] } as const;
    expect(entryOf('PageDown', moment)).toEqual({ type: 'affirm' });
    expect(entryOf('PageUp', moment)).toEqual({ type: 'negative' });
  });
  it('hears the prompt again where no cannot be said', () => {
    expect(entryOf('PageUp', { going: 'work', choices: [] })).toEqual({ type: 'sayAgain' });
  });
  it('does nothing where a figure is wanted', () => {
    expect(entryOf('PageDown', { going: 'work', choices: [] })).toBeNull();
  });
});

describe('keys', () => {
  it('choose by the letter of a choice, small or capital', () => {
    expect(entryOf('N', { going: 'asking', choices: [yes, no] })).toEqual({ type: 'negative' });
  });
  it('lead out of a pause with the key that led into it', () => {
    expect(entryOf('Home', { going: 'work', choices: [] })).toEqual({ type: 'standBy' });
    expect(entryOf('Home', { going: 'stopped', choices: [] })).toEqual({ type: 'carryOn' });
  });
});

describe('a figure by pedal', () => {
  const ups = (times: number, expected: number, unit: 'mm' | 'thou' | null) => {
    let text = pedalledBy('PageDown', null, expected, unit)!;
    const seen = [text];
    for (let k = 0; k < times; k++) {
      text = pedalledBy('PageUp', text, expected, unit)!;
      seen.push(text);
    }
    return seen;
  };
  it('begins with the expected one and goes to both sides of it', () => {
    expect(ups(4, 0.25, 'mm')).toEqual(['0.25', '0.26', '0.24', '0.27', '0.23']);
    expect(ups(3, 10, 'thou')).toEqual(['10', '11', '9', '12']);
  });
  it('never goes below what can be', () => {
    expect(ups(4, 1, null)).toEqual(['1', '2', '0', '3', '4']);
    expect(ups(3, 1, 'thou')).toEqual(['1', '2', '3', '4']);
  });
  it('leaves other keys and an entered figure to the rest', () => {
    expect(pedalledBy('PageDown', '10', 10, 'thou')).toBeNull();
    expect(pedalledBy('PageUp', null, 10, 'thou')).toBeNull();
  });
});

describe('a figure typed', () => {
  const type = (keys: string) => [...keys].reduce((text, key) => typedBy(key, text) ?? text, '');
  it('in millimetres is the same with and without its point', () => {
    expect(typedReading(type('0.18'), 'mm')).toEqual({ value: 0.18, unit: 'mm' });
    expect(typedReading(type(',18'), 'mm')).toEqual({ value: 0.18, unit: 'mm' });
    expect(typedReading(type('18'), 'mm')).toEqual({ value: 0.18, unit: 'mm' });
  });
  it('in thousandths is what it says', () => {
    expect(typedReading(type('7.5'), 'thou')).toEqual({ value: 7.5, unit: 'thou' });
  });
  it('of nothing is no reading', () => {
    expect(typedReading('', 'mm')).toBeNull();
    expect(typedReading('0.', 'mm')).toBeNull();
    expect(typedReading('0', 'thou')).toBeNull();
  });
  it('counts whole things only, and none is a count', () => {
    expect(typedCount('0')).toBe(0);
    expect(typedCount('12')).toBe(12);
    expect(typedCount('1.')).toBeNull();
  });
});
