import { known } from './known.js';

/** Conventional load voltage of plasma cutting: a straight line for each range of current. */
const LINES = [
  { up_to_A: 165, at_zero_V: 80, per_A: 0.4 },
  { up_to_A: 500, at_zero_V: 130, per_A: 0.1 },
] as const;

export const LOAD_VOLTAGE_SOURCE = known('memory', 'IEC 60974-1 clause 11.2, plasma cutting');
/** Highest no-load voltage that the standard allows a plasma cutting supply, V peak. */
export const MOST_NO_LOAD_V = 500;
export const NO_LOAD_SOURCE = known('memory', 'IEC 60974-1, no-load voltage for plasma cutting');

/**
 * The voltage at which a cutting supply is rated, V: what to compute with when nothing was measured.
 * @param current_A above 0; beyond 500 A the line is drawn on
 */
export function conventionalLoad_V(current_A: number): number {
  const line = LINES.find(({ up_to_A }) => current_A <= up_to_A) ?? LINES[1];
  return line.at_zero_V + line.per_A * current_A;
}

/** What an input current depends on. */
export interface InputPlate {
  readonly mains_V: number;
  readonly phases: 1 | 3;
  readonly efficiency: number;
  readonly power_factor: number;
}

/**
 * Current from each conductor of the mains, A: load power over efficiency, power factor and mains voltage, with √3
 * for three phases.
 */
export function inputCurrentOf_A(load_V: number, current_A: number, plate: InputPlate): number {
  const volts = plate.mains_V * (plate.phases === 3 ? Math.sqrt(3) : 1);
  return (load_V * current_A) / (plate.efficiency * plate.power_factor * volts);
}

/** Voltage of the rectified bus, V: the peak of the mains. It keeps charge when the supply is off. */
export const rectifiedBus_V = (mains_V: number): number => mains_V * Math.SQRT2;
