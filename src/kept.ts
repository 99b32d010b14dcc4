// Between the logbook and the procedure: how an event is kept, and the door through which kept events come back.
import { z } from 'zod';
import type { LogEvent } from './logbook/event.ts';
import type { SessionRecord } from './logbook/record.ts';
import { type Book, type FittedEar, inOrder, isSigned, type Opening } from './procedure/book.ts';
import type { Entry } from './procedure/entry.ts';
import type { Event } from './procedure/fold.ts';
import { readSheet, valveId } from './trade/sheet.ts';

const valve = z.string().nullable();
const clearance = z.strictObject({ value: z.number(), unit: z.enum(['mm', 'thou']) });

const entrySchema: z.ZodType<Entry> = z.discriminatedUnion('type', [
  z.strictObject({
    type: z.enum([
      'done',
      'affirm',
      'negative',
      'overshot',
      'signed',
      'inspected',
      'lost',
      'goBack',
      'stop',
      'sayAgain',
      'standBy',
      'carryOn',
      'correction',
    ]),
  }),
  z.strictObject({ type: z.literal('counted'), number: z.int().nonnegative() }),
  z.strictObject({ type: z.literal('brought'), number: z.int().positive(), what: z.string().nullable() }),
  z.strictObject({ type: z.literal('markSeen'), cylinder: z.int().nullable() }),
  z.strictObject({ type: z.literal('rocked'), play: z.enum(['all', 'some', 'none']) }),
  z.strictObject({ type: z.literal('watched'), valves: z.enum(['resting', 'moving']) }),
  z.strictObject({
    type: z.literal('gauged'),
    valve,
    reading: clearance.nullable(),
    feel: z.enum(['light', 'tight', 'loose']).nullable(),
  }),
  z.strictObject({ type: z.literal('proofed'), valve, verdict: z.enum(['pass', 'too wide', 'too tight']) }),
  z.strictObject({ type: z.enum(['loosened', 'nipped', 'dragChanged', 'torqued', 'marked']), valve }),
  z.strictObject({ type: z.literal('play'), valve, has: z.boolean() }),
  z.strictObject({ type: z.literal('choose'), set: z.enum(['all', 'outside']) }),
  z.strictObject({
    type: z.literal('skip'),
    valve,
    reason: z.enum(['seized', 'damaged', 'out of reach', 'missing part']),
  }),
  z.strictObject({ type: z.literal('gasket'), is: z.enum(['good', 'damaged', 'new', 'old']) }),
  z.strictObject({ type: z.literal('leak'), found: z.boolean() }),
]);

const fittedSchema = z.strictObject({
  at: z.iso.datetime({ offset: true }),
  accepts: z.number().positive(),
  loss: z.number().positive(),
  lead: z.number(),
  says: z.record(z.string(), z.string()),
});

const openingSchema = z.strictObject({
  type: z.literal('opened'),
  sheet: z.unknown(),
  mechanic: z.string().min(1),
  inspector: z.string().min(1).nullable(),
  instruments: z.array(
    z.strictObject({
      what: z.enum(['feeler gauge', 'torque wrench']),
      id: z.string().min(1),
      due: z.iso.date(),
    }),
  ),
  openedAt: z.string(),
  askAlways: z.boolean().optional(),
  fit: fittedSchema.optional(),
});

/** What is kept: how the session was opened, then every entry, doubted ones as such. */
export type KeptEntry = ({ type: 'opened' } & Opening) | { type: 'doubted'; entry: Entry } | Entry;

export const keptEntry = z.union([
  openingSchema,
  z.strictObject({ type: z.literal('doubted'), entry: entrySchema }),
  entrySchema,
]) as unknown as z.ZodType<KeptEntry>;

/** The first event of a session. */
export function openingEvent(session: string, opening: Opening): LogEvent<KeptEntry> {
  return {
    session,
    seq: 1,
    at: opening.openedAt,
    who: opening.mechanic,
    entry: { type: 'opened', ...opening },
  };
}

export function toKept(session: string, event: Event): LogEvent<KeptEntry> {
  const { seq, at, who, ...entry } = event;
  return { session, seq, at, who, entry: entry as KeptEntry };
}

/**
 * A session as it was kept.
 * @throws Error with a sentence where it does not begin with an opening on a good data sheet
 */
export function fromKept(kept: readonly LogEvent<KeptEntry>[]): { opening: Opening; events: Event[] } {
  const [first, ...rest] = kept;
  if (first?.entry.type !== 'opened')
    throw new Error('This session has no beginning, so it cannot be gone on with.');
  const { type: _, ...opening } = first.entry;
  const result = readSheet(opening.sheet);
  if (!result.ok) throw new Error(`The data sheet of this session is damaged: ${result.faults[0]}`);
  const events = rest.map(({ seq, at, who, entry }) => ({ ...entry, seq, at, who }) as Event);
  return { opening: { ...opening, sheet: result.sheet }, events };
}

/** A fit of the ear as it is kept on this device, whatever the engine. */
const fitSchema = fittedSchema.extend({
  person: z.string().min(1),
  /** For which ear it was made; with another it does not hold. */
  ear: z.string(),
});
export type KeptFit = z.output<typeof fitSchema>;

/** The fits among what is kept, by the key of their person; what cannot be read is left out, and can be made anew. */
export function fitsFromKept(kept: readonly unknown[]): Map<string, KeptFit> {
  const fits = kept.map((each) => fitSchema.safeParse(each)).flatMap(({ data }) => data ?? []);
  return new Map(fits.map((fit) => [fitKey(fit.person), fit]));
}

/** A person is known by name, however it is written. */
export const fitKey = (person: string) => person.trim().replace(/\s+/g, ' ').toLowerCase();

/** What a session's record tells of the fit. */
export function fittedEar({ at, accepts, loss, lead, says }: KeptFit): FittedEar {
  return { at, accepts, loss, lead, says };
}

/** The content of the record file. */
export function recordOf(
  session: string,
  book: Book,
  events: readonly LogEvent<KeptEntry>[],
): Omit<SessionRecord, 'format'> {
  return {
    session: { id: session, opened: book.openedAt },
    sheet: book.sheet,
    people: { mechanic: book.mechanic, inspector: book.inspector },
    instruments: book.instruments.map((instrument) => ({ ...instrument })),
    signed: {
      mechanic: isSigned(book) ? book.signedBy : null,
      inspector: isSigned(book) ? book.inspectedBy : null,
    },
    summary: {
      surveyed: book.surveyed,
      set: book.toSet,
      gasketFound: book.gasketFound,
      gasketFitted: book.gasketFitted,
      counted: book.tally.map((item) => ({ ...item })),
      findings: [...book.findings],
    },
    valves: valveTable(book),
    events: events.map((event) => ({ ...event, entry: { ...event.entry } })),
  };
}

/** One line for each valve, in the order of the work. */
export function valveTable(book: Book) {
  return inOrder(book).map(({ valve: place, id: _, ...record }) => ({
    id: valveId(place),
    ...place,
    ...record,
  }));
}
