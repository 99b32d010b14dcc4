// The simulated listener against two ears of which it is known what must come out.
import { describe, expect, it } from 'vitest';
import { demoSheets } from '../../../src/trade/demos.ts';
import { chance } from '../hearing/statistics.ts';
import { judgeAnew, type Row } from './measured.ts';
import { anything } from './scout.ts';
import { PRESENT, SETTINGS } from './settings.ts';
import { emptyTally, type SimulatedEar, simulate } from './simulation.ts';

const perfect: SimulatedEar = async ({ said }) => ({ tier: 'taken', text: said });

describe('simulated sessions', () => {
  it.each(demoSheets)('with a perfect ear have nothing wrong in them, on $id', async (sheet) => {
    const tally = emptyTally();
    await simulate(sheet, perfect, { misses: 0.5 }, chance('test'), tally);
    expect(tally).toMatchObject({
      signed: 1,
      wrongHeard: 0,
      unnoticed: 0,
      corrected: 0,
      stuck: 0,
      byHand: 0,
    });
  });

  it('have wrong entries that stay only where a listener misses some', async () => {
    for (const misses of [0, 1]) {
      const tally = emptyTally();
      const next = chance('test');
      const ear: SimulatedEar = async (wanted) => {
        const text = wanted.kind === 'figure' && next() < 0.5 ? anything(wanted, next) : wanted.said;
        return { tier: 'taken', text };
      };
      for (const sheet of demoSheets) await simulate(sheet, ear, { misses }, next, tally);
      expect(tally.wrongHeard).toBeGreaterThan(20);
      expect(tally.unnoticed > 0).toBe(misses === 1);
      expect(tally.corrected > 0).toBe(misses === 0);
    }
  });

  it('ask every figure where all is doubtful, and enter it after a yes', async () => {
    const tally = emptyTally();
    const ear: SimulatedEar = async ({ said, kind }) => ({
      tier: kind === 'figure' ? 'unsure' : 'taken',
      text: said,
    });
    await simulate(demoSheets[1]!, ear, { misses: 0 }, chance('test'), tally);
    expect(tally).toMatchObject({ signed: 1, wrongHeard: 0, unnoticed: 0 });
    expect(tally.questions / tally.valves).toBeGreaterThanOrEqual(3);
  });
});

describe('a sound judged anew', () => {
  const row = { tier: 'taken', loss: 1.2, worstWord: 2, lead: 5, phones: 8 } as Row;
  it('is taken, asked or refused by loss and lead', () => {
    expect(judgeAnew(row, PRESENT)).toBe('taken');
    expect(judgeAnew({ ...row, lead: 2 }, PRESENT)).toBe('unsure');
    expect(judgeAnew({ ...row, lead: 2 }, { theta: 1, lead: 1.5 })).toBe('taken');
    expect(judgeAnew(row, { theta: 0.7, lead: 4 })).toBe('unsure');
    expect(judgeAnew(row, { theta: 0.4, lead: 4 })).toBe('unknown');
  });
  it('is never taken by a stricter verdict where a laxer one asks', () => {
    for (const strict of SETTINGS.filter(
      ({ theta, lead, takeAll }) => theta <= 1 && lead >= PRESENT.lead && !takeAll,
    ))
      for (const loss of [0.2, 1.1, 1.5, 1.7, 3])
        for (const lead of [0, 2.4, 3, 5])
          if (judgeAnew({ ...row, loss, lead }, PRESENT) !== 'taken')
            expect(judgeAnew({ ...row, loss, lead }, strict)).not.toBe('taken');
  });
});
