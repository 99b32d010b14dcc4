// What was said at the engine is kept through a crash, in order, and never overwritten; and when it cannot be kept, a
// sentence says so.
import {
  IDBDatabase as FakeDatabase,
  IDBObjectStore as FakeStore,
  IDBFactory,
  IDBKeyRange,
} from 'fake-indexeddb';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { z } from 'zod';
import type { LogEvent } from './event.ts';
import { type Logbook, LogbookFault, openLogbook } from './logbook.ts';

const opened: Logbook[] = [];
async function open(): Promise<Logbook> {
  const logbook = await openLogbook();
  opened.push(logbook);
  return logbook;
}

const event = (seq: number, type = 'gauged', session = 'pump-1'): LogEvent => ({
  session,
  seq,
  at: `2026-05-04T09:00:${String(seq).padStart(2, '0')}Z`,
  who: 'Mara',
  entry: { type },
});

async function withEvents(count: number): Promise<Logbook> {
  const logbook = await open();
  await logbook.begin('pump-1', 'Storm pump', '2026-05-04T09:00:00Z');
  for (let seq = 1; seq <= count; seq++) await logbook.append(event(seq));
  return logbook;
}

/** Changes what lies on the disk, behind the logbook's back. */
async function spoil(change: (store: IDBObjectStore) => void): Promise<void> {
  const database = await new Promise<IDBDatabase>((resolve) => {
    const request = indexedDB.open('lashwright');
    request.onsuccess = () => resolve(request.result);
  });
  const transaction = database.transaction('logbook', 'readwrite');
  change(transaction.objectStore('logbook'));
  await new Promise<void>((resolve) => {
    transaction.oncomplete = () => resolve();
  });
  database.close();
}

const kind = (work: Promise<unknown>) =>
  work.then(
    () => 'kept',
    (error) => (error instanceof LogbookFault ? error.kind : error),
  );

beforeEach(() => {
  vi.stubGlobal('indexedDB', new IDBFactory());
  vi.stubGlobal('IDBKeyRange', IDBKeyRange);
});
afterEach(async () => {
  vi.restoreAllMocks();
  for (const logbook of opened.splice(0)) await logbook.close();
  vi.unstubAllGlobals();
});

describe('what was said is kept', () => {
  test('the events come back in order after the tab was killed', async () => {
    await withEvents(12);
    const { events, cutOff } = await (await open()).events('pump-1');
    expect(events.map(({ seq }) => seq)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]);
    expect(events[11]).toEqual(event(12));
    expect(cutOff).toBe(0);
  });

  test('an event is on the disk before anybody is told', async () => {
    const logbook = await withEvents(0);
    let committed = false;
    const { transaction } = FakeDatabase.prototype;
    const spy = vi.spyOn(FakeDatabase.prototype, 'transaction').mockImplementation(function (
      this: IDBDatabase,
      ...given
    ) {
      const started = transaction.apply(this, given);
      started.addEventListener('complete', () => {
        committed = true;
      });
      return started;
    });
    await logbook.append(event(1));
    expect(committed).toBe(true);
    expect(spy).toHaveBeenCalledWith('logbook', 'readwrite', { durability: 'strict' });
  });

  test('two sessions do not mix, also where one name begins with the other', async () => {
    const logbook = await withEvents(2);
    await logbook.begin('pump-10', 'Other pump', '2026-05-05T09:00:00Z');
    await logbook.append(event(1, 'stop', 'pump-10'));
    expect((await logbook.events('pump-1')).events).toHaveLength(2);
    expect((await logbook.events('pump-10')).events).toHaveLength(1);
  });

  test('a session that was never begun has no events', async () => {
    expect(await (await open()).events('nothing')).toEqual({ events: [], cutOff: 0 });
  });
});

describe('nothing is overwritten', () => {
  test.each([
    ['the same place again', 2],
    ['an earlier place', 1],
    ['a place too far on', 4],
  ])('%s is refused', async (_, seq) => {
    const logbook = await withEvents(2);
    expect(await kind(logbook.append(event(seq, 'forged')))).toBe('out of order');
    expect((await logbook.events('pump-1')).events.map(({ entry }) => entry.type)).toEqual([
      'gauged',
      'gauged',
    ]);
  });

  test('a session is begun once', async () => {
    const logbook = await withEvents(0);
    expect(await kind(logbook.begin('pump-1', 'Again', '2026-05-04T10:00:00Z'))).toBe('out of order');
  });

  test('a session is begun before anything is entered', async () => {
    const logbook = await open();
    expect(await kind(logbook.append(event(1)))).toBe('not begun');
  });

  test.each([
    ['no time', { at: 'this morning' }],
    ['no person', { who: '' }],
    ['a place that is no number', { seq: 1.5 }],
    ['a field that nobody knows', { extra: true }],
  ])('an event with %s is not kept', async (_, wrong) => {
    const logbook = await withEvents(0);
    expect(await kind(logbook.append({ ...event(1), ...wrong }))).toBe('failed');
    expect((await logbook.events('pump-1')).events).toEqual([]);
  });
});

describe('half-written events', () => {
  test('the last one is cut off and counted, not guessed', async () => {
    const logbook = await withEvents(3);
    await spoil((store) => store.put({ session: 'pump-1', seq: 3, at: '2026-05' }, ['event', 'pump-1', 3]));
    const { events, cutOff } = await logbook.events('pump-1');
    expect(events.map(({ seq }) => seq)).toEqual([1, 2]);
    expect(cutOff).toBe(1);
  });

  test('all that follows a missing one is cut off', async () => {
    const logbook = await withEvents(4);
    await spoil((store) => store.delete(['event', 'pump-1', 2]));
    const { events, cutOff } = await logbook.events('pump-1');
    expect(events.map(({ seq }) => seq)).toEqual([1]);
    expect(cutOff).toBe(2);
  });

  test('an event laid in the place of another is cut off', async () => {
    const logbook = await withEvents(2);
    await spoil((store) => store.put(event(1), ['event', 'pump-1', 2]));
    expect((await logbook.events('pump-1')).cutOff).toBe(1);
  });

  test('the work goes on behind the last whole event, and what was cut off is moved aside', async () => {
    const logbook = await withEvents(3);
    await spoil((store) => store.put('half', ['event', 'pump-1', 3]));
    await logbook.append(event(3, 'torqued'));
    const { events, cutOff } = await logbook.events('pump-1');
    expect(events.map(({ entry }) => entry.type)).toEqual(['gauged', 'gauged', 'torqued']);
    expect(cutOff).toBe(0);
    let aside: IDBRequest | undefined;
    await spoil((store) => {
      aside = store.get(['cut', 'pump-1', 3, event(3).at]);
    });
    expect(aside?.result).toBe('half');
  });

  test('an entry that its own schema does not know is cut off too', async () => {
    await withEvents(2);
    const strict = await openLogbook(z.strictObject({ type: z.literal('torqued') }));
    expect(await strict.events('pump-1')).toEqual({ events: [], cutOff: 2 });
    await strict.close();
  });
});

describe('the list of sessions', () => {
  test('shows each with its sheet and times, the latest first', async () => {
    const logbook = await withEvents(2);
    await logbook.begin('clinic-1', 'Standby generator', '2026-06-01T08:00:00Z');
    expect(await logbook.sessions()).toEqual([
      {
        session: 'clinic-1',
        title: 'Standby generator',
        opened: '2026-06-01T08:00:00Z',
        last: '2026-06-01T08:00:00Z',
        state: 'open',
      },
      {
        session: 'pump-1',
        title: 'Storm pump',
        opened: '2026-05-04T09:00:00Z',
        last: '2026-05-04T09:00:02Z',
        state: 'open',
      },
    ]);
  });

  test('a signed session is no longer unfinished', async () => {
    const logbook = await withEvents(1);
    expect((await logbook.unfinished()).map(({ session }) => session)).toEqual(['pump-1']);
    await logbook.append(event(2, 'signed'), 'signed');
    expect(await logbook.unfinished()).toEqual([]);
    expect((await logbook.sessions())[0]).toMatchObject({ state: 'signed' });
  });

  test('a heading that cannot be read is listed as such', async () => {
    const logbook = await withEvents(1);
    await spoil((store) => store.put({ title: 4 }, ['head', 'pump-1']));
    expect(await logbook.sessions()).toEqual([{ session: 'pump-1', state: 'unreadable' }]);
  });
});

describe('where nothing can be kept, a sentence says so', () => {
  test('no storage at all', async () => {
    vi.stubGlobal('indexedDB', undefined);
    await expect(openLogbook()).rejects.toThrow(
      'This browser cannot keep records. Open Lashwright in another',
    );
  });

  test('a private window', async () => {
    vi.spyOn(indexedDB, 'open').mockImplementation(() => {
      throw new DOMException('denied', 'SecurityError');
    });
    await expect(openLogbook()).rejects.toThrow('perhaps because the window is private');
  });

  test('an older version in another tab', async () => {
    vi.spyOn(indexedDB, 'open').mockImplementation(() => {
      const request = { onblocked: () => {} };
      setTimeout(() => request.onblocked());
      return request as unknown as IDBOpenDBRequest;
    });
    await expect(openLogbook()).rejects.toThrow('An older Lashwright is open in another tab.');
  });

  test('records of a newer version', async () => {
    await new Promise<void>((resolve) => {
      const request = indexedDB.open('lashwright', 2);
      request.onsuccess = () => {
        request.result.close();
        resolve();
      };
    });
    expect(await kind(openLogbook())).toBe('newer');
  });

  test('a full disk: the event is not kept, and those before it are', async () => {
    const logbook = await withEvents(1);
    const add = vi.spyOn(FakeStore.prototype, 'add').mockImplementation(() => {
      throw new DOMException('full', 'QuotaExceededError');
    });
    await expect(logbook.append(event(2))).rejects.toThrow(
      'The disk is full, so this was not kept. Free some space',
    );
    add.mockRestore();
    expect((await logbook.events('pump-1')).events).toHaveLength(1);
    expect(await kind(logbook.append(event(2)))).toBe('kept');
  });

  test('storage that was cleared during the work', async () => {
    const logbook = await withEvents(2);
    await spoil((store) => store.clear());
    expect(await kind(logbook.append(event(3)))).toBe('not begun');
  });
});

describe('one tab has the pen', () => {
  /** Gives the lock to one at a time, and to the next as soon as it is laid down. */
  function locks() {
    let last: Promise<unknown> = Promise.resolve();
    return {
      async request(_name: string, { signal }: { signal: AbortSignal }, work: () => Promise<void>) {
        let free = () => {};
        const before = last;
        last = new Promise<void>((resolve) => {
          free = resolve;
        });
        const waited = new Promise((_, reject) => {
          signal.onabort = () => reject(signal.reason);
        });
        try {
          await Promise.race([before, waited]);
          await work();
        } finally {
          before.then(free);
        }
      },
    };
  }

  beforeEach(() => {
    vi.stubGlobal('navigator', { locks: locks() });
    const { timeout } = AbortSignal;
    vi.spyOn(AbortSignal, 'timeout').mockImplementation(() => timeout.call(AbortSignal, 30));
  });

  test('the second tab may read, and is told where the work goes on', async () => {
    const first = await withEvents(1);
    const second = await open();
    expect((await second.events('pump-1')).events).toHaveLength(1);
    await expect(second.append(event(2))).rejects.toThrow(
      'Lashwright is at work in another tab. Go on there, or',
    );
    expect(await kind(first.append(event(2)))).toBe('kept');
  });

  test('the pen is free again when the first tab is closed', async () => {
    const first = await withEvents(1);
    const second = await open();
    expect(await kind(second.takePen())).toBe('other tab');
    await first.close();
    expect(await kind(second.takePen())).toBe('kept');
  });

  test('a tab waits a moment for one that is just being closed', async () => {
    const first = await withEvents(1);
    const taken = (await open()).takePen();
    await first.close();
    expect(await kind(taken)).toBe('kept');
  });

  test('taking it twice in one tab does no harm', async () => {
    const logbook = await open();
    await Promise.all([logbook.takePen(), logbook.takePen()]);
    await logbook.takePen();
  });
});

test.each([
  [{ storage: { persist: async () => true } }, 'granted'],
  [{ storage: { persist: async () => false } }, 'refused'],
  [{}, 'unknown'],
])('the browser is asked to keep the records: %o is %s', async (navigator, answer) => {
  vi.stubGlobal('navigator', navigator);
  expect(await (await open()).persist()).toBe(answer);
});
