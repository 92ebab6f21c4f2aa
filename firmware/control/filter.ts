// From readings to volts: spike rejection, decimation to 1 kHz, calibration, and a moving mean over half a mains
// period (50 Hz: 100 readings; 60 Hz: 83⅓ with a fractional end weight), which nulls rectifier ripple.

import { INPUT_READINGS, READINGS_PER_TICK } from '../wire/layout';
import { F, HISTORY, HISTORY_TICKS, INPUT, P, RING, RING_READINGS, S } from './state';

/** Readings a second, halved: divided by the mains frequency it is the length of the mean. */
const HALF_SECOND_READINGS: f32 = 5000;
/** A reading is believed again within this share of spike_V. */
const SPIKE_RELEASE: f32 = 0.2;
const HIGHEST_COUNT = 4095;
/** The longest stuck_ms in readings; the count stands there, so that the state stays bounded. */
const STUCK_MOST = 10000;

export function volts(counts: f32): f32 {
  return (counts - P.reading_zero_counts) * P.reading_gain_mV * <f32>0.001;
}

function meanLength(): f32 {
  return HALF_SECOND_READINGS / P.mains_Hz;
}

function ringAt(place: i32): i32 {
  return load<u16>(RING + ((<usize>(place & (RING_READINGS - 1))) << 1));
}

/** Fills the mean with the zero reading; at power-up and whenever a parameter changes. */
export function resetFilter(): void {
  const zero = <i32>P.reading_zero_counts;
  for (let i = 0; i < RING_READINGS; i++) store<u16>(RING + ((<usize>i) << 1), <u16>zero);
  for (let i = 0; i < HISTORY_TICKS; i++) store<f32>(HISTORY + ((<usize>i) << 2), 0);
  F.sum = zero * <i32>meanLength();
  F.head = 0;
  F.past = 0;
  F.set_aside = 0;
  F.believe = 0;
  F.mean_V = 0;
  F.tick_V = 0;
}

/** Takes the ten readings of a tick. Sets tick_V, mean_V, and the marks for spikes and saturation. */
export function readVoltage(): void {
  const length = meanLength();
  const whole = <i32>length;
  const part = length - <f32>whole;
  const reference = F.sum / whole;
  const counts_per_V: f32 = <f32>1000 / P.reading_gain_mV;
  const limit = P.spike_V > 0 ? <i32>(P.spike_V * counts_per_V) : i32.MAX_VALUE;
  const release = <i32>(P.spike_V * SPIKE_RELEASE * counts_per_V);
  const longest = <i32>P.spike_ms * READINGS_PER_TICK;

  let head = F.head;
  let sum = F.sum;
  let tick_sum = 0;
  let saturated = 0;
  let spiked = 0;
  for (let i = 0; i < READINGS_PER_TICK; i++) {
    const raw = <i32>load<u16>(INPUT + INPUT_READINGS + ((<usize>i) << 1));
    S.stuck_readings = raw != S.last_reading ? 0 : S.stuck_readings < STUCK_MOST ? S.stuck_readings + 1 : STUCK_MOST;
    S.last_reading = raw;
    if (raw >= HIGHEST_COUNT) saturated++;
    const taken = setAside(raw, reference, limit, release, longest);
    if (F.set_aside > 0) spiked = 1;
    tick_sum += taken;
    sum += taken - ringAt(head - whole);
    store<u16>(RING + ((<usize>(head & (RING_READINGS - 1))) << 1), <u16>taken);
    head++;
  }
  F.head = head & (RING_READINGS - 1);
  F.sum = sum;
  F.spiked = spiked;
  F.saturated = saturated;
  F.tick_V = volts(<f32>tick_sum / <f32>READINGS_PER_TICK);
  F.mean_V = volts((<f32>sum + part * <f32>ringAt(head - whole - 1)) / length);

  F.past = (F.past + 1) & (HISTORY_TICKS - 1);
  store<f32>(HISTORY + ((<usize>F.past) << 2), F.mean_V);
}

/**
 * A reading far from the mean is replaced by the mean, until readings come back or spike_ms is over: then the
 * change is believed for as long as the mean needs to follow it.
 */
function setAside(raw: i32, reference: i32, limit: i32, release: i32, longest: i32): i32 {
  if (F.believe > 0) {
    F.believe--;
    return raw;
  }
  const distance = raw > reference ? raw - reference : reference - raw;
  if (F.set_aside == 0) {
    if (distance <= limit) return raw;
  } else if (distance <= release) {
    F.set_aside = 0;
    return raw;
  } else if (F.set_aside >= longest) {
    F.set_aside = 0;
    F.believe = RING_READINGS;
    return raw;
  }
  F.set_aside++;
  return reference;
}

/** Rise of the mean over the last `ticks` (1…15), in volts. */
export function rise(ticks: i32): f32 {
  return F.mean_V - load<f32>(HISTORY + ((<usize>((F.past - ticks) & (HISTORY_TICKS - 1))) << 2));
}
