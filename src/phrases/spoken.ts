// How things of the trade are said in a sentence: valves, figures, units.
import type { Side, Valve, ValveId } from '../trade/sheet.ts';
import { type Clearance, convert, type Torque } from '../trade/units.ts';
import { cardinalWords } from './numbers.ts';

/** "exhaust two alpha" */
export function valveWords(valve: Pick<Valve, 'side' | 'cylinder' | 'mark'>): string {
  return [valve.side, cardinalWords(valve.cylinder), valve.mark].filter((word) => word !== null).join(' ');
}

export function idWords(id: ValveId): string {
  const [side, cylinder, mark] = id.split('-');
  return valveWords({
    side: side as Side,
    cylinder: Number(cylinder),
    mark: (mark ?? null) as Valve['mark'],
  });
}

/** "7 thou", "0.25 millimetres", in the unit that it was said in; "no gap" where there is none. */
export function clearanceWords(clearance: Clearance): string {
  if (clearance.value === 0) return 'no gap';
  if (clearance.unit === 'thou') return `${Number(clearance.value.toFixed(1))} thou`;
  const two = Math.abs(clearance.value * 100 - Math.round(clearance.value * 100)) < 1e-6;
  return `${clearance.value.toFixed(two ? 2 : 3)} millimetres`;
}

/** Both figures where it was not said in the sheet's unit: "7 thou, that is 0.178 millimetres". */
export function clearanceInBoth(clearance: Clearance, unit: Clearance['unit']): string {
  if (clearance.unit === unit) return clearanceWords(clearance);
  return `${clearanceWords(clearance)}, that is ${clearanceWords(convert(clearance, unit))}`;
}

const TORQUE_WORDS: Record<Torque['unit'], string> = {
  N·m: 'newton metres',
  lbf·in: 'inch pounds',
  lbf·ft: 'foot pounds',
};
export const torqueWords = (torque: Torque) =>
  `${Number(torque.value.toFixed(2))} ${TORQUE_WORDS[torque.unit]}`;

/** First letter large, a full stop at the end; nothing stays nothing. */
export function sentence(text: string): string {
  if (text === '') return '';
  const capital = text.charAt(0).toUpperCase() + text.slice(1);
  return /[.?!]$/.test(capital) ? capital : `${capital}.`;
}
