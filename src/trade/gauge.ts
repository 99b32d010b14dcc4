// Decisions on a reading: inside the sheet's limits or not, and what can hardly be true.
import type { Limits, Sheet, Side } from './sheet.ts';
import { type Clearance, fromMicrometres, type Micrometres, micrometres, toMicrometres } from './units.ts';

/** Half a tenth of a micrometre: a reading equal to a limit in the other unit still counts as equal. */
const ROUNDING = 0.05;

export function lowest(limits: Limits): Micrometres {
  return micrometres(toMicrometres(limits.wanted) - toMicrometres({ ...limits.wanted, value: limits.minus }));
}
export function highest(limits: Limits): Micrometres {
  return micrometres(toMicrometres(limits.wanted) + toMicrometres({ ...limits.wanted, value: limits.plus }));
}

export function inside(reading: Clearance, limits: Limits): boolean {
  const gap = toMicrometres(reading);
  return gap >= lowest(limits) - ROUNDING && gap <= highest(limits) + ROUNDING;
}

/** The blades of a go and no-go check, in the sheet's unit: go must pass, no-go must not. */
export function goNoGo(limits: Limits): { go: Clearance; noGo: Clearance } {
  const { unit } = limits.wanted;
  return { go: fromMicrometres(lowest(limits), unit), noGo: fromMicrometres(highest(limits), unit) };
}

/** Whether the sheet wants a larger gap on one side than on the other; null where both are the same. */
export function largerSide(sheet: Sheet): Side | null {
  const exhaust = toMicrometres(sheet.clearance.exhaust.wanted);
  const intake = toMicrometres(sheet.clearance.intake.wanted);
  return exhaust > intake ? 'exhaust' : intake > exhaust ? 'intake' : null;
}
