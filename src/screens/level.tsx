// How loud it is at the microphone: whether it hears anything, and whether that is too loud.
import type { View } from './view.ts';

/** Quietest level that the meter shows, in decibels below full scale. */
const FLOOR = -60;

/** Drawn apart, for it changes many times a second. */
export function Level({ view }: { view: View }) {
  const { dbfs, speaking } = view.level.value;
  const shown = Math.min(0, Math.max(FLOOR, dbfs));
  return (
    <div class="level">
      <meter
        aria-label="Level in decibels below full scale"
        min={FLOOR}
        low={-40}
        high={-6}
        optimum={-20}
        max={0}
        value={shown}
      />
      <span>{shown > -3 ? 'too loud' : speaking ? 'speech' : 'no speech'}</span>
    </div>
  );
}
