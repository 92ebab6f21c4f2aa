// From the arc's voltage to the converter's readings: the coefficients of the chain, as the faults that are present have it.
import { READINGS_PER_TICK } from '../../base/index.js';
import type { Given } from '../cells/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import type { Faults } from './faults.js';
import { lagShare } from './series.js';

const READING_MS = 0.1;
/** Three bytes, each uniform on 0…255, have variance 3·(256² − 1)/12; its root is the inverse of this. */
const THREE_BYTES = 1 / Math.sqrt((3 * (256 * 256 - 1)) / 12);
const ONE_BYTE = 1 / Math.sqrt((256 * 256 - 1) / 12);
const MIDDLE_OF_ONE = 0.5 * 255;

/** The divider as the faults leave it: volts at the tap for one at the arc, and the filter's time constant (0: none). */
function tapOf({ divider }: MachineConfig, faults: Faults): { readonly tap_per_V: number; readonly filter_ms: number } {
  const { ratio, top_resistors, rc_ms, gain_error } = divider;
  let tap_per_V = 1 / (ratio * (1 + gain_error));
  let filter_ms = rc_ms;
  if (faults.has('resistor-top-short')) {
    const shorted = Math.min(top_resistors, Math.round(faults.valueOf('resistor-top-short')));
    tap_per_V = 1 / (1 + ((ratio - 1) * (top_resistors - shorted)) / top_resistors);
  }
  if (faults.has('resistor-bottom-open')) {
    tap_per_V = 1;
    // The capacitor now charges through the upper part alone, which is (ratio − 1) lower resistors; the
    // two in parallel were (ratio − 1)/ratio of one, so the time constant grows by the ratio.
    filter_ms = rc_ms * ratio;
  }
  if (faults.has('filter-capacitor-open')) filter_ms = 0;
  if (faults.has('reversed-leads')) tap_per_V = -tap_per_V;
  const no_lead = faults.has('open-lead') || faults.has('resistor-top-open');
  if (no_lead || faults.has('resistor-bottom-short') || faults.has('shorted-capacitor')) tap_per_V = 0;
  if (faults.has('shorted-capacitor')) filter_ms = 0;
  return { tap_per_V, filter_ms };
}

/** The one code that the converter repeats; -1: it converts. */
function forcedCode(faults: Faults, most: number): number {
  if (faults.has('dead-converter')) return 0;
  if (!faults.has('stuck-code')) return -1;
  return Math.max(0, Math.min(most, Math.round(faults.valueOf('stuck-code'))));
}

/** The coefficients of the readings' loop. */
export function sensingOf(machine: MachineConfig, { noise }: WorldConfig, faults: Faults): Given<'sensing'> {
  const { isolation, converter, divider } = machine;
  const { tap_per_V, filter_ms } = tapOf(machine, faults);
  const codes = 2 ** converter.bits;
  const counts_per_V = (codes / converter.reference_V) * (1 + converter.gain_error);
  const isolation_share = lagShare(2 * Math.PI * isolation.bandwidth_kHz * READING_MS, 1);
  const isolation_gain = 1 + isolation.gain_error;
  const converter_noise = converter.noise_counts * ONE_BYTE;
  // The two low passes attenuate the inverter's ripple itself; its alias is made by the converter alone.
  const through_tap = 2 * Math.PI * noise.inverter_kHz * filter_ms;
  const through_isolation = noise.inverter_kHz / isolation.bandwidth_kHz;
  return {
    tap_per_V,
    white: noise.white_V_rms_per_tick * Math.sqrt(READINGS_PER_TICK) * THREE_BYTES * tap_per_V,
    share: lagShare(READING_MS, filter_ms),
    isolation_share: isolation_share * isolation_gain,
    isolation_keep: 1 - isolation_share,
    isolation_add: (isolation_share * isolation.offset_mV) / 1000,
    counts_per_V,
    // One half is added so that cutting off the fraction rounds.
    zero: converter.zero_counts + converter.offset_counts - converter_noise * MIDDLE_OF_ONE + 0.5,
    converter_noise,
    most: codes - 1,
    ratio: divider.ratio,
    inverter:
      (tap_per_V * isolation_gain * counts_per_V) /
      Math.sqrt((1 + through_tap * through_tap) * (1 + through_isolation * through_isolation)),
    lead: 1,
    forced_code: forcedCode(faults, codes - 1),
  };
}
