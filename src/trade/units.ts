// Numbers that carry their unit in the type, and the only functions that lead from one unit to another.
// Definitions: 1 in = 25.4 mm exactly (1959 yard and pound agreement), torque factors from NIST SP 811.

declare const unit: unique symbol;
type In<U extends string> = number & { readonly [unit]: U };

export type Micrometres = In<'µm'>;
export type NewtonMetres = In<'N·m'>;
export type Degrees = In<'°'>;
export type Celsius = In<'°C'>;

/** The units that a clearance is said and written in: millimetres, or thousandths of an inch. */
export type ClearanceUnit = 'mm' | 'thou';
export type TorqueUnit = 'N·m' | 'lbf·in' | 'lbf·ft';

/** A length as it was spoken or printed. Kept beside its value in micrometres so that the round trip is exact. */
export interface Clearance {
  readonly value: number;
  readonly unit: ClearanceUnit;
}
export interface Torque {
  readonly value: number;
  readonly unit: TorqueUnit;
}

/** As a ratio of whole numbers, so that 7 thou is 177.8 µm and not a hair less. */
const MICROMETRES_PER: Record<ClearanceUnit, { many: number; units: number }> = {
  mm: { many: 1000, units: 1 },
  thou: { many: 254, units: 10 },
};
const NEWTON_METRES_PER: Record<TorqueUnit, number> = {
  N·m: 1,
  lbf·in: 0.1129848290276167,
  lbf·ft: 1.3558179483314,
};

export const micrometres = (value: number) => value as Micrometres;
export const degrees = (value: number) => value as Degrees;
export const celsius = (value: number) => value as Celsius;

/** @returns the length in micrometres, not rounded (7 thou is 177.8 µm). */
export function toMicrometres(clearance: Clearance): Micrometres {
  const { many, units } = MICROMETRES_PER[clearance.unit];
  return micrometres((clearance.value * many) / units);
}

/** @returns the length in the asked unit, not rounded. */
export function fromMicrometres(length: Micrometres, to: ClearanceUnit): Clearance {
  const { many, units } = MICROMETRES_PER[to];
  return { value: (length * units) / many, unit: to };
}

/** The same length in the asked unit; the very same value where the unit is already that. */
export function convert(clearance: Clearance, to: ClearanceUnit): Clearance {
  return clearance.unit === to ? clearance : fromMicrometres(toMicrometres(clearance), to);
}

export function toNewtonMetres(torque: Torque): NewtonMetres {
  return (torque.value * NEWTON_METRES_PER[torque.unit]) as NewtonMetres;
}

export function convertTorque(torque: Torque, to: TorqueUnit): Torque {
  return torque.unit === to ? torque : { value: toNewtonMetres(torque) / NEWTON_METRES_PER[to], unit: to };
}

/** As written: "0.18 mm" with two decimals (three where needed), "7 thou" with at most one. */
export function writeClearance(clearance: Clearance): string {
  if (clearance.unit === 'thou') return `${trim(clearance.value, 1)} thou`;
  const two = Math.abs(clearance.value * 100 - Math.round(clearance.value * 100)) < 1e-6;
  return `${clearance.value.toFixed(two ? 2 : 3)} mm`;
}

/** Inches as a handbook prints them: "0.007 in". */
export function writeInches(length: Micrometres): string {
  const thou = length / 25.4;
  const whole = Math.abs(thou - Math.round(thou)) < 0.05;
  return `${(thou / 1000).toFixed(whole ? 3 : 4)} in`;
}

/** Both figures, the spoken one first: "7 thou (0.178 mm)", "0.18 mm (0.0071 in)". */
export function writeBoth(clearance: Clearance): string {
  const length = toMicrometres(clearance);
  const other = clearance.unit === 'thou' ? `${(length / 1000).toFixed(3)} mm` : writeInches(length);
  return `${writeClearance(clearance)} (${other})`;
}

export function writeTorque(torque: Torque): string {
  return `${trim(torque.value, 2)} ${torque.unit}`;
}

function trim(value: number, decimals: number): string {
  return String(Number(value.toFixed(decimals)));
}
