// What is kept comes back as it was, and what is damaged does not come back.
import { describe, expect, it } from 'vitest';
import { fitKey, fitsFromKept, fittedEar, fromKept, type KeptFit, keptEntry, openingEvent } from './kept.ts';
import type { Opening } from './procedure/book.ts';
import { demoSheets } from './trade/demos.ts';

const fit: KeptFit = {
  person: 'Ada Person',
  at: '2026-03-03T08:00:00.000Z',
  ear: 'ear.safetensors',
  accepts: 1.08,
  loss: 1.728,
  lead: 4,
  says: { thou: 'TH AW' },
};
const opening: Opening = {
  sheet: demoSheets[0]!,
  mechanic: 'Ada Person',
  inspector: null,
  instruments: [],
  openedAt: '2026-03-04T08:00:00Z',
};

describe('a fit of the ear', () => {
  it('is found again by the name of its person, however that is written', () => {
    expect(fitsFromKept([fit]).get(fitKey('  ada   PERSON '))).toEqual(fit);
    expect(fitsFromKept([fit]).get(fitKey('Ada'))).toBeUndefined();
  });
  it('that is damaged is none', () => {
    const damaged = [
      null,
      'fit',
      { ...fit, accepts: '1' },
      { ...fit, accepts: -1 },
      { ...fit, says: { thou: 1 } },
    ];
    expect(fitsFromKept(damaged).size).toBe(0);
    expect(fitsFromKept([...damaged, fit]).size).toBe(1);
  });
});

describe('the opening of a session', () => {
  const throughTheDoor = (given: Opening) => {
    const event = openingEvent('s', given);
    return fromKept([{ ...event, entry: keptEntry.parse(JSON.parse(JSON.stringify(event.entry))) }]).opening;
  };
  it('tells by which thresholds a fitted ear heard', () => {
    const { person: _, ear: __, ...told } = fit;
    expect(throughTheDoor({ ...opening, fit: fittedEar(fit) }).fit).toEqual(told);
  });
  it('tells of none where none was in force', () => {
    expect(throughTheDoor(opening)).not.toHaveProperty('fit');
  });
});
