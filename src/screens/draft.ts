// What was filled in on Prepare outlives a new load of the page, in this tab: choosing vosk or a newer version makes one.
import { z } from 'zod';
import { readSheet, type Sheet } from '../trade/sheet.ts';
import type { Preparing } from './view.ts';

export interface Draft {
  /** All but the engine, which is that of the page. */
  readonly preparing: Omit<Preparing, 'engine'>;
  /** Data sheets that the user opened. */
  readonly sheets: readonly Sheet[];
}

const KEY = 'lashwright draft';

const kept = z.object({
  preparing: z.object({
    sheet: z.string().nullable(),
    mechanic: z.string(),
    inspector: z.string(),
    instruments: z.array(
      z.object({ what: z.enum(['feeler gauge', 'torque wrench']), id: z.string(), due: z.string() }),
    ),
    voice: z.enum(['platform', 'built-in', 'silent']),
    askAlways: z.boolean(),
  }),
  sheets: z.array(z.unknown()),
});

/** Where the browser keeps nothing, it is filled in again. */
export function keepDraft(draft: Draft): void {
  try {
    sessionStorage.setItem(KEY, JSON.stringify(draft));
  } catch {}
}

/** Null where nothing was kept, or nothing that can be used. */
export function keptDraft(): Draft | null {
  try {
    const { preparing, sheets } = kept.parse(JSON.parse(sessionStorage.getItem(KEY) ?? 'null'));
    return {
      preparing,
      sheets: sheets.map(readSheet).flatMap((result) => (result.ok ? [result.sheet] : [])),
    };
  } catch {
    return null;
  }
}
