// The record of one session as a file: written at sign-off or whenever the owner wants it, and read again with checks.
import { z } from 'zod';
import { anyEntry, eventOf, id, moment } from './event.ts';

export const RECORD_FORMAT = 'lashwright record 1';

const shape = z.strictObject({
  format: z.literal(RECORD_FORMAT),
  session: z.strictObject({ id, opened: moment }),
  /** The data sheet as it was worked by. Whoever works with it passes it through the sheet's own door. */
  sheet: z.looseObject({ format: z.string(), id: z.string(), title: z.string() }),
  people: z.strictObject({ mechanic: id, inspector: id.nullable() }),
  instruments: z.array(z.strictObject({ what: z.string(), id, due: z.iso.date() })),
  /** Who signed as mechanic and as inspector; null where nobody did. */
  signed: z.strictObject({ mechanic: id.nullable(), inspector: id.nullable() }),
  /** What was taken, chosen, counted and noticed beside the valves. */
  summary: z.looseObject({}),
  /** The table of the valves as it was left. */
  valves: z.array(z.looseObject({ id: z.string() })),
  events: z.array(eventOf(anyEntry)),
});

export type SessionRecord = z.output<typeof shape>;
export type RecordResult = { ok: true; record: SessionRecord } | { ok: false; faults: string[] };

/** @returns the text of the file; the same record gives the same bytes */
export function writeRecord(record: Omit<SessionRecord, 'format'>): string {
  const { session, sheet, people, instruments, signed, summary, valves, events } = record;
  const fields = {
    format: RECORD_FORMAT,
    session,
    sheet,
    people,
    instruments,
    signed,
    summary,
    valves,
    events,
  };
  return `${JSON.stringify(fields, null, 1)}\n`;
}

/** A record, or the sentences that say what is wrong with the file and where. */
export function readRecord(text: string): RecordResult {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    const why = (error as Error).message;
    return {
      ok: false,
      faults: [`This file is not a whole record (${why}). Copy it again from where it came.`],
    };
  }
  if (!(typeof value === 'object' && value !== null && 'format' in value && value.format === RECORD_FORMAT)) {
    return { ok: false, faults: [`This file is not marked "${RECORD_FORMAT}". Open a record file.`] };
  }
  const parsed = shape.safeParse(value);
  if (!parsed.success) {
    return {
      ok: false,
      faults: parsed.error.issues.map(({ path, message }) => `${where(path)}: ${message}.`),
    };
  }
  const faults = disorder(parsed.data);
  return faults.length > 0 ? { ok: false, faults } : { ok: true, record: parsed.data };
}

/** "events › no. 3 › at": entries of a list are counted from one. */
function where(path: readonly PropertyKey[]): string {
  const steps = path.map((step) => (typeof step === 'number' ? `no. ${step + 1}` : String(step)));
  return steps.join(' › ') || 'The record';
}

/** Events that are not the session's own, or not in their place. */
function disorder({ session, events }: SessionRecord): string[] {
  return events.flatMap((event, k) => {
    if (event.session !== session.id) return [`events: no. ${k + 1} belongs to session ${event.session}.`];
    if (event.seq !== k + 1)
      return [`events: no. ${k + 1} is marked ${event.seq}; one is missing, added or moved.`];
    return [];
  });
}
