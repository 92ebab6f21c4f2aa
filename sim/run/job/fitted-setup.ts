/** Where a setup and the electrical arithmetic meet: what the one gives to the other, and what it gets back. */
import type { Calibration, ElectricalMachine, Use } from '../../electrical/index.js';
import { tapOf } from '../../electrical/index.js';
import { assignValues, type Setup } from '../setup/index.js';

/** What a divider is to be designed for: target, arc window, slope and gain of the box, ripple of the world. */
export function useOf({ box, world }: Setup): Use {
  return {
    target_V: box.target_V,
    highest_V: box.arc_high_V,
    slope_V_per_mm: box.arc_slope_V_per_mm,
    loop_per_s: box.gain_p_per_s,
    inverter_kHz: world.noise.inverter_kHz,
  };
}

/**
 * A setup with another divider in it. Until it is calibrated, the box reads by the nominal values of the parts.
 * @param machine gives the divider; the rest of the machine section stays
 */
export function withDivider(setup: Setup, machine: Pick<ElectricalMachine, 'divider'>): Setup {
  const fitted = asParts({
    ...setup,
    machine: { ...setup.machine, divider: { ...setup.machine.divider, ...machine.divider } },
  });
  const { divider, converter } = fitted.machine;
  const gain_mV = (divider.ratio * converter.reference_V * 1000) / 2 ** converter.bits;
  const reading = { reading_gain_mV: digits(gain_mV, 4), reading_zero_counts: converter.zero_counts };
  return { ...fitted, box: { ...fitted.box, ...reading } };
}

/**
 * A setup whose ratio and time constant are what its parts make them: four and three digits, which is more than the
 * parts' tolerances give.
 */
export function asParts(setup: Setup): Setup {
  const { ratio, rc_ms } = tapOf(setup.machine);
  const divider = { ...setup.machine.divider, ratio: digits(ratio, 4), rc_ms: digits(rc_ms, 3) };
  return { ...setup, machine: { ...setup.machine, divider } };
}

/** A setup whose box reads by a calibration. @throws StandoffError `set-range` when the box cannot store it */
export function withCalibration(setup: Setup, { gain_mV, zero_counts }: Calibration): Setup {
  return assignValues(setup, [
    `reading_gain_mV=${gain_mV.toFixed(3)}`,
    `reading_zero_counts=${Math.max(0, zero_counts).toFixed(2)}`,
  ]);
}

const digits = (value: number, count: number): number => Number(value.toPrecision(count));
