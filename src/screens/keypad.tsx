// Figures by touch: large keys, and the figure shown as it will be entered before it is.
import { useEffect, useRef } from 'preact/hooks';
import type { Entry, Feel } from '../procedure/entry.ts';
import { type ClearanceUnit, writeBoth } from '../trade/units.ts';
import { typedBy } from './keys.ts';
import { typedCount, typedReading } from './words.ts';

export interface Wanted {
  /** null: a count */
  readonly unit: ClearanceUnit | null;
  /** The drag is named together with the figure. */
  readonly withFeel: boolean;
}

/** The entry that a typed figure stands for; null while it is none. */
export function typedEntry(text: string, { unit }: Wanted, feel: Feel | null = null): Entry | null {
  if (unit !== null) {
    const reading = typedReading(text, unit);
    return reading && { type: 'gauged', valve: null, reading, feel };
  }
  const number = typedCount(text);
  return number === null ? null : { type: 'counted', number };
}

const KEYS = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', 'Backspace'];
const FEELS: readonly Feel[] = ['light', 'tight', 'loose'];

interface Props {
  readonly text: string;
  readonly wanted: Wanted;
  onText(text: string): void;
  onEntry(entry: Entry): void;
  onClose(): void;
}

export function Keypad({ text, wanted, onText, onEntry, onClose }: Props) {
  const frame = useRef<HTMLElement>(null);
  useEffect(() => frame.current?.scrollIntoView({ block: 'nearest' }), []);
  const entry = typedEntry(text, wanted);
  const enter = (feel: Feel | null) => {
    const typed = typedEntry(text, wanted, feel);
    if (typed) onEntry(typed);
  };
  return (
    <section class="keypad" ref={frame} aria-label={wanted.unit ? 'Enter a reading' : 'Enter a count'}>
      <div class="typed">
        <output aria-live="polite">
          <strong>{text || '–'}</strong>
          <span>{inWords(entry, wanted)}</span>
        </output>
        {wanted.withFeel &&
          FEELS.map((feel) => (
            <button key={feel} type="button" aria-disabled={!entry} onClick={() => enter(feel)}>
              {feel} drag
            </button>
          ))}
        <button type="button" class="main" aria-disabled={!entry} onClick={() => enter(null)}>
          Enter <kbd>Enter</kbd>
        </button>
        <button type="button" onClick={onClose}>
          Close <kbd>Esc</kbd>
        </button>
      </div>
      <div class="digits">
        {KEYS.map((key) => (
          <button
            key={key}
            type="button"
            aria-label={key === 'Backspace' ? 'Take back the last digit' : key === '.' ? 'point' : key}
            aria-disabled={key === '.' && wanted.unit === null}
            onClick={() => !(key === '.' && wanted.unit === null) && onText(typedBy(key, text) ?? text)}
          >
            {key === 'Backspace' ? '⌫' : key}
          </button>
        ))}
      </div>
    </section>
  );
}

function inWords(entry: Entry | null, { unit }: Wanted): string {
  if (entry?.type === 'gauged' && entry.reading) return writeBoth(entry.reading);
  if (entry?.type === 'counted') return 'counted';
  return unit ? `in ${unit === 'mm' ? 'millimetres' : 'thousandths of an inch'}` : 'how many';
}
