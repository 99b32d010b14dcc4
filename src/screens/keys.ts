// What each key does on the bench. A two-button pedal is a keyboard that sends PageDown and PageUp.
import type { Entry } from '../procedure/entry.ts';
import type { Going } from '../procedure/fold.ts';
import type { ClearanceUnit } from '../trade/units.ts';
import type { Choice } from './view.ts';

interface Moment {
  readonly going: Going;
  readonly choices: readonly Choice[];
}

export const isPaused = (going: Going) => going === 'standBy' || going === 'stopped';
/** Only a yes or a no leads on. */
export const isQuestion = (going: Going) => going === 'asking' || going === 'offer' || going === 'still';

const main = ({ choices }: Moment) => choices.find((choice) => choice.weight === 'main')?.entry ?? null;
const noOrAgain = ({ choices }: Moment): Entry =>
  choices.find((choice) => choice.entry.type === 'negative')?.entry ?? { type: 'sayAgain' };

const TABLE: Readonly<Record<string, (moment: Moment) => Entry | null>> = {
  Enter: main,
  PageDown: main,
  PageUp: noOrAgain,
  ' ': () => ({ type: 'sayAgain' }),
  Escape: () => ({ type: 'correction' }),
  Delete: () => ({ type: 'goBack' }),
  Insert: () => ({ type: 'lost' }),
  Home: ({ going }) => ({ type: isPaused(going) ? 'carryOn' : 'standBy' }),
  End: () => ({ type: 'stop' }),
};

/** The entry that a key stands for; a choice's own key comes before the table. */
export function entryOf(key: string, moment: Moment): Entry | null {
  const own = moment.choices.find((choice) => choice.key?.toLowerCase() === key.toLowerCase());
  return own?.entry ?? TABLE[key]?.(moment) ?? null;
}

/** The key of a choice as it is shown. */
export function keyOf(choice: Choice): string | null {
  if (choice.weight === 'main' && choice.key === null) return 'Enter';
  return choice.key === ' '
    ? 'Space'
    : (choice.key?.replace(/^[a-z]$/, (letter) => letter.toUpperCase()) ?? null);
}

/** What a key adds to the number being typed; null where it adds nothing. A comma is a point on many keyboards. */
export function typedBy(key: string, text: string): string | null {
  if (/^\d$/.test(key)) return (text + key).slice(0, 6);
  if (key === '.' || key === ',') return text.includes('.') ? text : `${text || '0'}.`;
  return key === 'Backspace' ? text.slice(0, -1) : null;
}

/**
 * A figure by two pedals: Page Down brings up the expected one (and then enters it), Page Up goes through its neighbours,
 * ever farther to both sides. null: the key does nothing of the kind.
 */
export function pedalledBy(
  key: string,
  text: string | null,
  expected: number,
  unit: ClearanceUnit | null,
): string | null {
  const step = unit === 'mm' ? 0.01 : 1;
  const written = (away: number) =>
    unit === 'mm' ? (expected + away * step).toFixed(2) : String(expected + away);
  if (key === 'PageDown' && text === null) return written(0);
  if (key !== 'PageUp' || text === null) return null;
  const away = Math.round((Number(text) - expected) / step);
  const other = away > 0 ? -away : 1 - away;
  const least = unit === null ? 0 : 1;
  return written(Math.round(expected / step) + other < least ? 1 - other : other);
}
