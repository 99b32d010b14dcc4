// One event of a session as it is stored and handed out. Entries stay opaque here: the logbook keeps what the other
// rooms mean and does not understand it.
import { z } from 'zod';

export interface AnyEntry {
  readonly type: string;
}

export interface LogEvent<Entry extends AnyEntry = AnyEntry> {
  readonly session: string;
  /** 1 for the first event of a session, then one more each time. */
  readonly seq: number;
  /** RFC 3339 */
  readonly at: string;
  readonly who: string;
  readonly entry: Entry;
}

export const anyEntry: z.ZodType<AnyEntry> = z.looseObject({ type: z.string().min(1) });
export const id = z.string().min(1).max(100);
export const moment = z.iso.datetime({ offset: true });

export function eventOf<Entry extends AnyEntry>(entry: z.ZodType<Entry>) {
  return z.strictObject({ session: id, seq: z.int().min(1), at: moment, who: id, entry });
}
