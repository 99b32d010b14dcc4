import { describe, expect, it } from 'vitest';
import { answer } from '../tools/mechanic.ts';
import type { Opening } from './procedure/book.ts';
import type { Event } from './procedure/fold.ts';
import { Session } from './session.ts';
import { demoSheets } from './trade/demos.ts';

const opening = (sheet = demoSheets[0]!): Opening => ({
  sheet,
  mechanic: 'Mechanic',
  inspector: 'Inspector',
  instruments: [
    { what: 'feeler gauge', id: 'F 1', due: '2099-01-01' },
    { what: 'torque wrench', id: 'T 1', due: '2099-01-01' },
  ],
  openedAt: '2026-01-02T08:00:00Z',
});

function start(sheet = demoSheets[0]!, events: Event[] = []) {
  const kept: Event[] = [...events];
  const session = new Session({
    opening: opening(sheet),
    events,
    keep: async (event) => void kept.push(event),
    now: () => '2026-01-02T08:00:00Z',
  });
  const say = (text: string) =>
    session.hear({ text, rejected: null, confidence: 1, alternatives: [], words: [], from: 0, to: 0, ms: 0 });
  return { session, kept, say };
}

describe('a session in words', () => {
  for (const sheet of demoSheets) {
    it(`goes from the first caution to the signed record on ${sheet.id}`, async () => {
      const { session, say, kept } = start(sheet);
      const trail: string[] = [];
      for (let k = 0; k < 400 && !session.isSigned; k++) {
        const words = answer(session.book, session.going)!;
        const step = session.book.step;
        const outcome = await say(words);
        trail.push(`${step}: ${words} → ${outcome.readBack} | ${outcome.prompt}`);
        expect(outcome.accepted || session.going !== 'work', trail.slice(-3).join('\n')).toBe(true);
      }
      if (process.env.SHOW) console.log(trail.join('\n'));
      expect(session.isSigned).toBe(true);
      expect(Object.values(session.book.valves).every((valve) => valve.phase === 'proved')).toBe(true);
      expect(kept.map((event) => event.seq)).toEqual(kept.map((_, k) => k + 2));
    });
  }
});

describe('answers that come faster than they are kept', () => {
  it('hold for the moment in which they were given: the second is dropped, not carried over to the next valve', async () => {
    const { session, say } = start(demoSheets[1]!);
    while (session.book.step !== 'cautions') await say(answer(session.book, session.going)!);
    const [first, second] = await Promise.all([
      session.take({ type: 'done' }),
      session.take({ type: 'done' }),
    ]);
    expect([first.accepted, second.accepted]).toEqual([true, false]);
    expect(session.book.nth).toBe(1);
  });
});

describe('what is to be turned', () => {
  async function until(step: string) {
    const { session, say } = start(demoSheets[1]!);
    while (session.book.step !== step) await say(answer(session.book, session.going)!);
    return { session, say };
  }

  it('is said in degrees of the crank, and of the tool behind its gear', async () => {
    const { session } = await until('turn');
    expect(session.prompt).toMatch(
      /^Turn on 120 degrees of the crank, at the tool 60 degrees, anticlockwise/,
    );
  });

  it('is two full turns on after an overshot mark, without the degrees of before', async () => {
    const { session, say } = await until('turn');
    await say('overshot');
    expect(session.prompt).toMatch(
      /^Go on two full turns of the crank, at the tool one full turn, never back/,
    );
    await say('mark seen');
    expect(session.book.step).toBe('gauge');
  });

  it('leads from the last cylinder to the reference for the proof, and the stroke is watched there', async () => {
    const { session, say } = await until('proofTurns');
    // The last of 1-5-3-6-2-4 stands at 600 degrees: 120 more than two full turns.
    expect(session.prompt).toMatch(/^Proof\. Turn on two full turns and 120 degrees of the crank/);
    await say('mark seen');
    expect(session.book.step).toBe('referenceWatch');
    await say('moving');
    expect(session.book.step).toBe('referenceOn');
    await say('mark seen');
    await say('resting');
    expect([session.book.step, session.book.round]).toEqual(['proof', 'proof']);
  });
});

describe('the end', () => {
  it('counts the fasteners back: one missing keeps the cover from being tightened', async () => {
    const { session, say } = start(demoSheets[1]!);
    while (session.book.step !== 'handStart') await say(answer(session.book, session.going)!);
    const missing = await say('five fasteners');
    expect([missing.accepted, session.book.step]).toEqual([false, 'handStart']);
    await say('six fasteners');
    expect(session.book.step).toBe('tighten');
  });

  it('asks who inspected, and closes the record only with the yes', async () => {
    const closings: boolean[] = [];
    const session = new Session({
      opening: opening(demoSheets[1]!),
      keep: async (_, closes) => void closings.push(closes),
      now: () => '2026-01-02T08:00:00Z',
    });
    const say = (text: string) =>
      session.hear({
        text,
        rejected: null,
        confidence: 1,
        alternatives: [],
        words: [],
        from: 0,
        to: 0,
        ms: 0,
      });
    while (session.book.step !== 'inspect') await say(answer(session.book, session.going)!);
    await say('inspected');
    expect([session.going, session.isSigned]).toEqual(['asking', false]);
    await say('affirm');
    expect(session.isSigned).toBe(true);
    expect(closings.indexOf(true)).toBe(closings.length - 1);
  });
});
