import { describe, expect, it } from 'vitest';
import type { Outcome } from './outcome.ts';
import { picture, tenths } from './reliability.ts';

const outcome = (confidence: number, same: boolean, said = 'seven'): Outcome =>
  ({ said, best: 'seven', loss: 0.1, confidence, same }) as Outcome;

describe('the tenths of confidence', () => {
  const points = tenths([
    outcome(0.95, true),
    outcome(1, true),
    outcome(0.91, false),
    outcome(0.5, false),
    outcome(0.99, false, ''),
  ]);

  it('count what was right in each, and leave out sounds in which nothing was said', () => {
    expect(points).toHaveLength(10);
    expect(points[9]).toMatchObject({ from: 0.9, n: 3, right: 2 });
    expect(points[9]!.said).toBeCloseTo(0.953, 3);
    expect(points[5]).toMatchObject({ n: 1, right: 0 });
    expect(points[0]).toMatchObject({ n: 0, right: 0 });
  });

  it('are drawn with one mark each, where there is something', () => {
    const marks = [...picture(points, 'here').matchAll(/<circle cx="([\d.]+)" cy="([\d.]+)"/g)];
    expect(marks).toHaveLength(2);
    // 0 right of one at 0.5: half-way along, at the bottom.
    expect(marks[0]!.slice(1)).toEqual(['228.0', '408.0']);
  });
});
