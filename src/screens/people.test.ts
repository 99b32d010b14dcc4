// Practice begins at once; a real engine needs real names.
import { describe, expect, it } from 'vitest';
import { instrumentsOf, PRACTICE, peopleOf } from './people.ts';

const nobody = { mechanic: ' ', inspector: '' };

describe('the instruments of a session', () => {
  const none = [{ what: 'feeler gauge', id: '', due: '' }] as const;
  it('are stand-ins in date on an invented engine, and missing on a real one', () => {
    expect(instrumentsOf(none, { invented: true }, 2026)).toEqual([
      { what: 'feeler gauge', id: 'F 1', due: '2027-01-01' },
    ]);
    expect(instrumentsOf(none, { invented: false }, 2026)).toEqual(none);
  });
});

describe('the people of a session', () => {
  it('are stand-ins on an invented engine until names are given', () => {
    expect(peopleOf(nobody, { invented: true, inspection: true })).toEqual(PRACTICE);
    expect(peopleOf({ mechanic: 'Ada ', inspector: 'Ben' }, { invented: true, inspection: true })).toEqual({
      mechanic: 'Ada',
      inspector: 'Ben',
    });
  });
  it('are missing on a real engine until names are given', () => {
    expect(peopleOf(nobody, { invented: false, inspection: true })).toEqual({ mechanic: '', inspector: '' });
  });
  it('need no inspector where the sheet asks for none', () => {
    expect(peopleOf(nobody, { invented: true, inspection: false }).inspector).toBeNull();
  });
});
