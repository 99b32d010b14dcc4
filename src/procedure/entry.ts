// What a phrase, a key or a tap means. Entries are the machine's events; nothing else changes a session.
import type { ValveId } from '../trade/sheet.ts';
import type { Clearance } from '../trade/units.ts';

export type Feel = 'light' | 'tight' | 'loose';
export type SkipReason = 'seized' | 'damaged' | 'out of reach' | 'missing part';

/** Where `valve` or `cylinder` is null, the one that is due is meant. */
export type Entry =
  | { type: 'done' | 'affirm' | 'negative' }
  | { type: 'counted'; number: number }
  /** Something more went in while the cover was off; null: what was counted in first. */
  | { type: 'brought'; number: number; what: string | null }
  | { type: 'markSeen'; cylinder: number | null }
  | { type: 'overshot' }
  /** How many rockers of the cylinder have play, judged by hand. */
  | { type: 'rocked'; play: 'all' | 'some' | 'none' }
  /** Judged by movement as the mark comes up: at rest is the firing stroke, moving is the overlap. */
  | { type: 'watched'; valves: 'resting' | 'moving' }
  | { type: 'gauged'; valve: ValveId | null; reading: Clearance | null; feel: Feel | null }
  /** With go and no-go blades: go passes and no-go does not; both pass; neither does. */
  | { type: 'proofed'; valve: ValveId | null; verdict: 'pass' | 'too wide' | 'too tight' }
  | { type: 'loosened' | 'nipped' | 'dragChanged' | 'torqued' | 'marked'; valve: ValveId | null }
  | { type: 'play'; valve: ValveId | null; has: boolean }
  | { type: 'choose'; set: 'all' | 'outside' }
  | { type: 'skip'; valve: ValveId | null; reason: SkipReason }
  | { type: 'gasket'; is: 'good' | 'damaged' | 'new' | 'old' }
  | { type: 'leak'; found: boolean }
  | { type: 'signed' | 'inspected' }
  /** The reference position is in doubt. */
  | { type: 'lost' }
  | { type: 'goBack' }
  | { type: Control };

export type Control = 'stop' | 'sayAgain' | 'standBy' | 'carryOn' | 'correction';
export type EntryType = Entry['type'];

/** Who said it and when, and its place in the log. */
export interface Stamp {
  readonly seq: number;
  /** RFC 3339 */
  readonly at: string;
  readonly who: string;
}

/** An entry as it reaches the machine. `confirmed` is set by the machine alone, after a yes. */
export type Said = Entry & Stamp & { readonly confirmed?: true };

/** An entry that was heard doubtfully: it is asked back and enters only after a yes. */
export type Doubted = { type: 'doubted'; entry: Entry } & Stamp;
