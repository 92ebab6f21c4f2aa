import { tapOf } from './circuit.js';
import type { ElectricalMachine, Use } from './machine.js';

/** What the chain does to a changing voltage. */
export interface FilterFigures {
  readonly rc_ms: number;
  /** With the capacitor at the ends of its tolerance. */
  readonly least_rc_ms: number;
  readonly most_rc_ms: number;
  readonly corner_Hz: number;
  /** Delay of slow changes up to the converter's code: RC, isolation stage, half the time between readings, ms. */
  readonly delay_ms: number;
  /** Frequency at which the loop is about to stop correcting, Hz, and the phase that the chain costs it there. */
  readonly loop_Hz: number;
  readonly loop_phase_deg: number;
  /** What is left of the rectifier's ripple of one phase, and of the inverter's, 0…1. */
  readonly ripple_Hz: number;
  readonly ripple_share: number;
  readonly inverter_kHz: number;
  readonly inverter_share: number;
  /** Time after a jump of the whole range until the tap is within half a step, ms. */
  readonly settle_ms: number;
}

/** Time between readings of the board, ms. */
const READING_MS = 0.1;

export function filterOf(machine: ElectricalMachine, use: Use): FilterFigures {
  const { divider, isolation, converter, supply } = machine;
  const { rc_ms } = tapOf(machine);
  const isolation_ms = 1 / (2 * Math.PI * isolation.bandwidth_kHz);
  const loop_Hz = use.loop_per_s / (2 * Math.PI);
  const angle = (frequency_Hz: number, lag_ms: number) => Math.atan((2 * Math.PI * frequency_Hz * lag_ms) / 1000);
  const share = (frequency_Hz: number) =>
    Math.cos(angle(frequency_Hz, rc_ms)) * Math.cos(angle(frequency_Hz, isolation_ms));
  const held_rad = (2 * Math.PI * loop_Hz * (READING_MS / 2)) / 1000;
  const ripple_Hz = 2 * supply.mains_Hz;
  return {
    rc_ms,
    least_rc_ms: rc_ms * (1 - divider.capacitor_percent / 100),
    most_rc_ms: rc_ms * (1 + divider.capacitor_percent / 100),
    corner_Hz: 1000 / (2 * Math.PI * rc_ms),
    delay_ms: rc_ms + isolation_ms + READING_MS / 2,
    loop_Hz,
    loop_phase_deg: ((angle(loop_Hz, rc_ms) + angle(loop_Hz, isolation_ms) + held_rad) * 180) / Math.PI,
    ripple_Hz,
    ripple_share: share(ripple_Hz),
    inverter_kHz: use.inverter_kHz,
    inverter_share: share(use.inverter_kHz * 1000),
    settle_ms: settlingTimes(converter.bits) * rc_ms,
  };
}

/**
 * Time constants until an exponential is within half a step of a converter: (bits + 1)·ln 2; 9.01 for 12 bits, 7.62
 * for 10. Source: a converter maker's equation (seen).
 */
export const settlingTimes = (bits: number): number => (bits + 1) * Math.LN2;

/** How a converter's sample settles through the resistance in front of it. */
export interface Sampling {
  readonly needed_us: number;
  readonly given_us: number;
  /** Resistance up to which it would settle, ohm. */
  readonly most_ohm: number;
}

export function samplingOf({ isolation, converter }: Pick<ElectricalMachine, 'isolation' | 'converter'>): Sampling {
  const { bits, sample_pF, sample_us } = converter;
  const times = settlingTimes(bits);
  return {
    needed_us: times * isolation.output_ohm * sample_pF * 1e-6,
    given_us: sample_us,
    most_ohm: (sample_us * 1e6) / (times * sample_pF),
  };
}
