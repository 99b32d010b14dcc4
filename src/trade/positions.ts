// Where the crank stands when a valve may be set: stations in firing order, and which valves rest on the base circle
// at an angle. Four-stroke engines; angles are degrees of crank along the engine's own running direction, 0 at the
// firing top dead centre of the first cylinder of the order, 720 to the cycle.
import type { Sheet, Side, Valve } from './sheet.ts';
import { type Degrees, degrees } from './units.ts';

/** One stop of the crank: a cylinder at its firing top dead centre, and the valves visited there, first side first. */
export interface Station {
  readonly cylinder: number;
  readonly at: Degrees;
  readonly valves: readonly Valve[];
}

const CYCLE = 720;
const turn = (angle: number) => ((angle % CYCLE) + CYCLE) % CYCLE;

/** The firing angle of each cylinder of the order: from the sheet, else evenly spread over two turns. */
export function firingAngles(sheet: Pick<Sheet, 'firingOrder' | 'firingAngles'>): Degrees[] {
  const even = CYCLE / sheet.firingOrder.length;
  return sheet.firingOrder.map((_, k) => degrees(sheet.firingAngles?.[k] ?? k * even));
}

/** The stations in firing order. Every valve of the sheet is in exactly one of them. */
export function stations(sheet: Sheet): Station[] {
  const angles = firingAngles(sheet);
  return sheet.firingOrder.map((cylinder, k) => ({
    cylinder,
    at: angles[k]!,
    valves: sheet.valves
      .filter((valve) => valve.cylinder === cylinder)
      .sort((a, b) => Number(b.side === sheet.firstSide) - Number(a.side === sheet.firstSide)),
  }));
}

/** How far to turn on, never back, from one crank angle to another: 0 up to just under 720. */
export function turnOn(from: Degrees, to: Degrees): Degrees {
  return degrees(turn(to - from));
}

/** Whether a valve rests on its base circle, so that its clearance may be set, with the crank at an angle. */
export function closedAt(sheet: Sheet, valve: Pick<Valve, 'cylinder' | 'side'>, crank: Degrees): boolean {
  const k = sheet.firingOrder.indexOf(valve.cylinder);
  const phase = turn(crank - firingAngles(sheet)[k]!);
  const { opens, closes, margin } = sheet.timing[valve.side];
  const width = closes - opens + 2 * margin;
  return turn(phase - (opens - margin)) > width;
}

/** All cylinders whose valves of one side may be set at an angle, in numerical order. */
export function freeAt(sheet: Sheet, side: Side, crank: Degrees): number[] {
  return [...sheet.firingOrder]
    .sort((a, b) => a - b)
    .filter((cylinder) => closedAt(sheet, { cylinder, side }, crank));
}

/** The cylinder that comes to top dead centre together with this one, a full turn apart in the cycle; null where none does. */
export function companion(
  sheet: Pick<Sheet, 'firingOrder' | 'firingAngles'>,
  cylinder: number,
): number | null {
  const angles = firingAngles(sheet);
  const opposite = turn(angles[sheet.firingOrder.indexOf(cylinder)]! + CYCLE / 2);
  const k = angles.findIndex((angle) => Math.abs(angle - opposite) < 1e-6);
  return k < 0 ? null : sheet.firingOrder[k]!;
}
