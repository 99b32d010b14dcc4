// The benchmark's sums against published ones, and its held-out people against the rule of the training.
import { describe, expect, it } from 'vitest';
import { heldOut } from './recordings.ts';
import { rareEvents, some, wilson } from './statistics.ts';

describe('intervals', () => {
  // R. G. Newcombe, Statistics in Medicine 17 (1998) 857–872, table I, method 3.
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])('of %i in %i are from %d to %d', (hits, n, from, to) => {
    const interval = wilson(hits, n);
    expect(interval[0]).toBeCloseTo(from, 4);
    expect(interval[1]).toBeCloseTo(to, 4);
  });

  // Exact Poisson limits (Breslow and Day 1987, p. 70); Byar's approximation comes within 2 % of them from 5 on.
  it.each([
    [5, 1.62, 11.67],
    [10, 4.8, 18.39],
  ])('of %i rare events are from %d to %d', (count, from, to) => {
    const interval = rareEvents(count);
    expect(Math.abs(interval[0] / from - 1)).toBeLessThan(0.02);
    expect(Math.abs(interval[1] / to - 1)).toBeLessThan(0.02);
  });
});

// As models/training/data.py says of them.
describe('people kept out of training', () => {
  it.each([
    ['an4', 'fash', false],
    ['an4', 'fbbh', false],
    ['an4', 'fjam', true],
    ['an4', 'fmjc', true],
    ['librispeech_tc5', '1088', false],
    ['librispeech_tc5', '118', false],
    ['librispeech_tc5', '5789', true],
    ['librispeech_tc5', '7859', true],
    ['ljspeech_part', 'ljspeech', false],
    ['sc', '00176480', false],
    ['sc', '004ae714', false],
    ['sc', '0132a06d', true],
    ['sc', '019fa366', true],
    ['sc10', '022cd682', false],
    ['sc10', '0b57a6ed', false],
    ['sc10', '2796ac50', true],
    ['sc10', '2fa39636', true],
  ] as const)('%s: %s is %s', (group, speaker, out) => {
    expect(heldOut(group, speaker)).toBe(out);
  });
});

it('takes fewer as a part of more, in no order of theirs', () => {
  const all = Array.from({ length: 50 }, (_, k) => String(k));
  const few = some(all, (x) => x, 10);
  expect(some(all, (x) => x, 20).slice(0, 10)).toEqual(few);
  expect(few).not.toEqual(all.slice(0, 10));
});
