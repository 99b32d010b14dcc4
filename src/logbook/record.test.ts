// The record file comes back as it was written, and a file that was cut, mixed up or edited by hand is refused.
import { describe, expect, test } from 'vitest';
import { demoSheets } from '../trade/demos.ts';
import { readSheet } from '../trade/sheet.ts';
import { readRecord, type SessionRecord, writeRecord } from './record.ts';

const record: SessionRecord = {
  format: 'lashwright record 1',
  session: { id: 'pump-1', opened: '2026-05-04T09:00:00Z' },
  sheet: demoSheets[1]!,
  people: { mechanic: 'Mara', inspector: 'Ivo' },
  instruments: [{ what: 'torque wrench', id: 'TW-7', due: '2026-09-01' }],
  signed: { mechanic: 'Mara', inspector: null },
  summary: { surveyed: true },
  valves: [{ id: 'exhaust-1', found: { value: 18, unit: 'thou' }, left: { value: 16, unit: 'thou' } }],
  events: [1, 2].map((seq) => ({
    session: 'pump-1',
    seq,
    at: `2026-05-04T09:00:0${seq}+02:00`,
    who: 'Mara',
    entry: { type: 'gauged', valve: 'exhaust-1', reading: { value: 18, unit: 'thou' } },
  })),
};
const edited = (edit: (record: SessionRecord) => void) => {
  const copy = structuredClone(record);
  edit(copy);
  return readRecord(JSON.stringify(copy));
};
const faults = (result: ReturnType<typeof readRecord>) => (result.ok ? [] : result.faults);

test('a record comes back as it was written', () => {
  expect(readRecord(writeRecord(record))).toEqual({ ok: true, record });
});

test('the same record gives the same bytes, whatever the order of its fields', () => {
  const turned = Object.fromEntries(Object.entries(record).reverse()) as unknown as SessionRecord;
  expect(writeRecord(turned)).toBe(writeRecord(record));
});

test('the sheet in a record still passes its own door', () => {
  const result = readRecord(writeRecord(record));
  expect(result.ok && readSheet(result.record.sheet).ok).toBe(true);
});

describe('a file that is not whole is refused', () => {
  test('cut short', () => {
    expect(faults(readRecord(writeRecord(record).slice(0, -20)))[0]).toMatch(
      /^This file is not a whole record/,
    );
  });
  test.each(['null', '[]', '{}', '{"format":"lashwright sheet 1"}'])('another kind of file: %s', (text) => {
    expect(faults(readRecord(text))).toEqual([
      'This file is not marked "lashwright record 1". Open a record file.',
    ]);
  });
  test('an event taken out', () => {
    expect(faults(edited(({ events }) => events.shift()))).toEqual([
      'events: no. 1 is marked 2; one is missing, added or moved.',
    ]);
  });
  test('events moved', () => {
    expect(faults(edited(({ events }) => events.reverse()))).toHaveLength(2);
  });
  test('an event of another session', () => {
    const result = edited(({ events }) => Object.assign(events[1]!, { session: 'pump-2' }));
    expect(faults(result)).toEqual(['events: no. 2 belongs to session pump-2.']);
  });
  test('an event without its time, by name and place', () => {
    const result = edited(({ events }) => Object.assign(events[0]!, { at: 'today' }));
    expect(faults(result)[0]).toMatch(/^events › no. 1 › at: /);
  });
  test('a field that nobody knows', () => {
    expect(faults(edited((copy) => Object.assign(copy, { note: 'all good' })))).toHaveLength(1);
  });
});
