// How far an adjusting screw is turned to change a clearance.
import { type Degrees, degrees, type Micrometres, micrometres } from './units.ts';

/**
 * Angle = 360° × change ÷ pitch, ÷ rocker ratio where the screw sits at the pushrod end and the gap is at the valve.
 * @param change of the gap, micrometres; positive: wider, the screw turns out
 * @param pitch travel of the screw in one turn, micrometres
 * @param rockerRatio gap at the valve for one unit of travel at the screw; 1 where the screw bears on the valve
 * @throws RangeError where pitch or ratio is not above zero
 */
export function screwTurn(change: Micrometres, pitch: Micrometres, rockerRatio = 1): Degrees {
  if (!(pitch > 0) || !(rockerRatio > 0)) throw new RangeError('Pitch and rocker ratio must be above zero.');
  return degrees((360 * change) / pitch / rockerRatio);
}

/** Pitch of a thread with so many turns to the inch, micrometres. */
export function pitchOf(turnsPerInch: number): Micrometres {
  return micrometres(25_400 / turnsPerInch);
}
