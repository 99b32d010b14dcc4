// The sessions on this device, as lists of events that only grow. What was appended is on the disk before anybody is
// told, and everything that comes back from the disk passes zod.
import { promisifyRequest, type UseStore } from 'idb-keyval';
import { z } from 'zod';
import { type AnyEntry, anyEntry, eventOf, id, type LogEvent, moment } from './event.ts';

const head = z.strictObject({
  session: id,
  title: z.string(),
  opened: moment,
  /** When its last event happened. */
  last: moment,
  state: z.enum(['open', 'signed', 'stopped']),
});

/** What a list of sessions shows without reading their events. */
export type SessionHead = z.output<typeof head>;

/** A line of the list whose heading cannot be read; its events may be whole. */
export interface UnreadableHead {
  readonly session: string;
  readonly state: 'unreadable';
}

export type FaultKind =
  | 'no storage'
  | 'refused'
  | 'blocked'
  | 'newer'
  | 'full'
  | 'other tab'
  | 'out of order'
  | 'not begun'
  | 'failed';

/** The message says what happened and how to mend it, for the person at the engine. */
export class LogbookFault extends Error {
  override readonly name = 'LogbookFault';
  constructor(
    readonly kind: FaultKind,
    message: string,
    options?: ErrorOptions,
  ) {
    super(message, options);
  }
}

export interface Logbook<Entry extends AnyEntry = AnyEntry> {
  /** Takes the pen for this tab until it is closed. `begin` and `append` take it by themselves. */
  takePen(): Promise<void>;
  begin(session: string, title: string, at: string): Promise<void>;
  /** Done only when the event is on the disk. `end` marks the session as over together with its last event. */
  append(event: LogEvent<Entry>, end?: 'signed' | 'stopped'): Promise<void>;
  /** The events in order up to the first that is not whole, and how many were cut off from there on. */
  events(session: string): Promise<{ events: LogEvent<Entry>[]; cutOff: number }>;
  /** The latest first. */
  sessions(): Promise<(SessionHead | UnreadableHead)[]>;
  unfinished(): Promise<SessionHead[]>;
  /** Asks the browser not to clear the records when space is short. */
  persist(): Promise<'granted' | 'refused' | 'unknown'>;
  close(): Promise<void>;
}

/**
 * @param entry checks the entries that come back; without it they only need a `type`, and their shape is taken on trust
 * @throws LogbookFault where nothing can be kept
 */
export async function openLogbook<Entry extends AnyEntry = AnyEntry>(
  entry: z.ZodType<Entry> = anyEntry as unknown as z.ZodType<Entry>,
): Promise<Logbook<Entry>> {
  if (globalThis.indexedDB === undefined) {
    throw new LogbookFault(
      'no storage',
      'This browser cannot keep records. Open Lashwright in another browser.',
    );
  }
  const database = strictDatabase();
  const pen = onePen();
  const event = eventOf(entry);

  /** The event of a row, or null where it is not the whole event that belongs there. */
  function whole(row: Row, session: string, seq: number): LogEvent<Entry> | null {
    const parsed = event.safeParse(row.value);
    if (row.seq !== seq || !parsed.success) return null;
    const found = parsed.data as LogEvent<Entry>;
    return found.session === session && found.seq === seq ? found : null;
  }

  async function write(work: (store: IDBObjectStore) => Promise<void>): Promise<void> {
    await pen.take();
    await explained(() =>
      database.use('readwrite', async (store) => {
        const { transaction } = store;
        const worked = work(store).catch((error) => {
          abort(transaction);
          throw error;
        });
        await Promise.all([worked, committed(transaction)]);
      }),
    );
  }

  await explained(() => database.use('readonly', async () => {}));

  const logbook: Logbook<Entry> = {
    takePen: pen.take,

    begin: (session, title, at) =>
      write(async (store) => {
        const fresh: SessionHead = head.parse({ session, title, opened: at, last: at, state: 'open' });
        await promisifyRequest(store.add(fresh, headKey(session)));
      }),

    append: (given, end) =>
      write(async (store) => {
        const { session, seq, at } = event.parse(given);
        const known = head.safeParse(await promisifyRequest(store.get(headKey(session))));
        if (!known.success) {
          throw new LogbookFault('not begun', `Session ${session} is not in this logbook. Begin it anew.`);
        }
        const rows = await rowsFrom(store, session, seq - 1);
        const before = rows.find((row) => row.seq === seq - 1);
        if (seq > 1 && !(before && whole(before, session, seq - 1))) {
          throw new LogbookFault(
            'out of order',
            `Entry ${seq} was not kept: entry ${seq - 1} is not there. ${RELOAD}`,
          );
        }
        const later = rows.filter((row) => row.seq >= seq);
        if (later[0] && whole(later[0], session, seq)) {
          throw new LogbookFault(
            'out of order',
            `Entry ${seq} is kept already and is not overwritten. ${RELOAD}`,
          );
        }
        for (const row of later) {
          store.add(row.value, ['cut', session, row.seq, at]);
          store.delete(['event', session, row.seq]);
        }
        store.add(given, ['event', session, seq]);
        store.put({ ...known.data, last: at, state: end ?? known.data.state }, headKey(session));
      }),

    async events(session) {
      const rows = await explained(() => database.use('readonly', (store) => rowsFrom(store, session, 1)));
      const events: LogEvent<Entry>[] = [];
      for (const row of rows) {
        const found = whole(row, session, events.length + 1);
        if (!found) break;
        events.push(found);
      }
      return { events, cutOff: rows.length - events.length };
    },

    async sessions() {
      const range = IDBKeyRange.bound(['head'], ['head', []]);
      const [keys, values] = await explained(() => database.use('readonly', (store) => allOf(store, range)));
      const heads = values.map((value, k): SessionHead | UnreadableHead => {
        const parsed = head.safeParse(value);
        return parsed.success ? parsed.data : { session: String(keys[k]![1]), state: 'unreadable' };
      });
      return heads.sort((a, b) => opened(b) - opened(a));
    },

    async unfinished() {
      return (await logbook.sessions()).filter((each): each is SessionHead => each.state === 'open');
    },

    async persist() {
      const storage = globalThis.navigator?.storage;
      if (!storage?.persist) return 'unknown';
      return (await storage.persist()) ? 'granted' : 'refused';
    },

    async close() {
      pen.drop();
      await database.close();
    },
  };
  return logbook;
}

const RELOAD = 'Load the page again; what was kept stays.';

/*
 * Keys of the one store:
 *   ['head', session]                 SessionHead, replaced at every append
 *   ['event', session, seq]           LogEvent, added once and never replaced
 *   ['cut', session, seq, at]         what could not be read, moved aside when the session went on at `at`
 */
const headKey = (session: string) => ['head', session];

interface Row {
  readonly seq: number;
  readonly value: unknown;
}

async function rowsFrom(store: IDBObjectStore, session: string, seq: number): Promise<Row[]> {
  // Lists sort behind numbers, so [] is above every seq.
  const [keys, values] = await allOf(
    store,
    IDBKeyRange.bound(['event', session, seq], ['event', session, []]),
  );
  return keys.map((key, k) => ({ seq: Number(key[2]), value: values[k] }));
}

function allOf(store: IDBObjectStore, range: IDBKeyRange): Promise<[IDBValidKey[][], unknown[]]> {
  const keys = promisifyRequest(store.getAllKeys(range)) as Promise<IDBValidKey[][]>;
  return Promise.all([keys, promisifyRequest<unknown[]>(store.getAll(range))]);
}

const opened = (each: SessionHead | UnreadableHead) =>
  each.state === 'unreadable' ? 0 : Date.parse(each.opened);

/** As idb-keyval's createStore, but each transaction waits until the disk has it, where the platform can say so. */
function strictDatabase(): { use: UseStore; close(): Promise<void> } {
  let opening: Promise<IDBDatabase> | undefined;

  function connect(): Promise<IDBDatabase> {
    return new Promise((resolve, reject) => {
      const request = indexedDB.open('lashwright', 1);
      request.onupgradeneeded = () => request.result.createObjectStore('logbook');
      request.onblocked = () => reject(new LogbookFault('blocked', OLD_TAB));
      request.onerror = () => reject(request.error);
      request.onsuccess = () => {
        const database = request.result;
        // Some platforms close a connection by themselves; a later version in another tab asks for it.
        database.onclose = () => {
          opening = undefined;
        };
        database.onversionchange = () => {
          database.close();
          opening = undefined;
        };
        resolve(database);
      };
    });
  }

  return {
    async use(mode, work) {
      opening ??= connect();
      const database = await opening.catch((error) => {
        opening = undefined;
        throw error;
      });
      return work(database.transaction('logbook', mode, { durability: 'strict' }).objectStore('logbook'));
    },
    async close() {
      (await opening)?.close();
      opening = undefined;
    },
  };
}

const OLD_TAB = 'An older Lashwright is open in another tab. Close that tab and load this one again.';

function committed(transaction: IDBTransaction): Promise<void> {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error);
  });
}

function abort(transaction: IDBTransaction): void {
  try {
    transaction.abort();
  } catch {
    // It has ended by itself, because of the error that is being passed on.
  }
}

/** The right to write, which one tab has at a time. Where the platform has no locks, every tab has it. */
function onePen() {
  let taken: Promise<void> | undefined;
  let drop = () => {};

  async function ask(): Promise<void> {
    const locks = globalThis.navigator?.locks;
    if (!locks) return;
    await new Promise<void>((resolve, reject) => {
      // A page that was just left or loaded again lays the pen down a moment later.
      const held = locks.request('lashwright pen', { signal: AbortSignal.timeout(1000) }, () => {
        resolve();
        return new Promise<void>((release) => {
          drop = release;
        });
      });
      held.catch(reject);
    });
  }

  return {
    take(): Promise<void> {
      taken ??= explained(ask).catch((error) => {
        taken = undefined;
        throw error;
      });
      return taken;
    },
    drop(): void {
      drop();
      taken = undefined;
    },
  };
}

/** Runs a piece of work and turns what the platform throws into a sentence. */
async function explained<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw error instanceof LogbookFault ? error : fault(error);
  }
}

function fault(cause: unknown): LogbookFault {
  const name = cause instanceof Error || cause instanceof DOMException ? cause.name : 'unknown error';
  const [kind, message] = SENTENCES[name] ?? [
    'failed',
    `The record could not be read or written (${name}). ${RELOAD}`,
  ];
  return new LogbookFault(kind, message, { cause });
}

const CLOSED_STORAGE: [FaultKind, string] = [
  'refused',
  'This browser keeps no records here, perhaps because the window is private. Open Lashwright in an ordinary window and allow it to store data.',
];
const SENTENCES: Record<string, [FaultKind, string]> = {
  QuotaExceededError: ['full', 'The disk is full, so this was not kept. Free some space, then say it again.'],
  SecurityError: CLOSED_STORAGE,
  InvalidStateError: CLOSED_STORAGE,
  NotFoundError: CLOSED_STORAGE,
  TimeoutError: [
    'other tab',
    'Lashwright is at work in another tab. Go on there, or close that tab and load this one again.',
  ],
  VersionError: [
    'newer',
    'The records here were written by a newer Lashwright. Load the page again to get it.',
  ],
  ConstraintError: ['out of order', `This is kept already and is not overwritten. ${RELOAD}`],
  ZodError: ['failed', 'This is not an event of a session, so it was not kept.'],
};
