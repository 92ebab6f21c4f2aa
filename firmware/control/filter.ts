// From readings to volts: spike rejection, decimation to 1 kHz, calibration, and a moving mean over half a mains
// period (50 Hz: 100 readings; 60 Hz: 83⅓ with a fractional end weight), which nulls rectifier ripple.

import { INPUT_READINGS, READINGS_PER_TICK } from '../wire/layout.gen';
import { isZero } from './numbers';
import { D, F, HISTORY, HISTORY_TICKS, INPUT, P, RAW, RING, RING_READINGS, S } from './state';

const HIGHEST_COUNT = 4095;
/** The longest stuck_ms in readings; the count stands there, so that the state stays bounded. */
const STUCK_MOST = 10000;

function at(ring: usize, place: i32): usize {
  return ring + ((<usize>(place & (RING_READINGS - 1))) << 1);
}

function ringAt(place: i32): i32 {
  return load<u16>(at(RING, place));
}

/** Fills the mean with the zero reading; at power-up and whenever a parameter changes. */
export function resetFilter(): void {
  const zero = <i32>P.reading_zero_counts;
  for (let i = 0; i < RING_READINGS; i++) {
    store<u16>(at(RING, i), <u16>zero);
    store<u16>(at(RAW, i), <u16>zero);
  }
  for (let i = 0; i < HISTORY_TICKS; i++) store<f32>(HISTORY + ((<usize>i) << 2), 0);
  F.sum = zero * D.mean_whole;
  F.head = 0;
  F.past = 0;
  F.rejected = 0;
  F.believe = 0;
  F.mean_V = 0;
  F.tick_V = 0;
}

/** Takes the ten readings of a tick. Sets tick_V, mean_V, and the marks for spikes and saturation. */
export function readVoltage(): void {
  const whole = D.mean_whole;
  const reference = F.sum / whole;
  const within = withinLimit(reference);
  const calm = within && F.believe == 0 && F.rejected == 0;
  F.spiked = 0;
  const head = F.head;
  let sum = F.sum;
  let tick_sum = 0;
  for (let i = 0; i < READINGS_PER_TICK; i++) {
    const raw = reading(i);
    const taken = calm ? raw : reject(raw, reference, load<u16>(at(RAW, head + i - whole)));
    tick_sum += taken;
    sum += taken - ringAt(head + i - whole);
    store<u16>(at(RING, head + i), <u16>taken);
    store<u16>(at(RAW, head + i), <u16>raw);
  }
  const next = head + READINGS_PER_TICK;
  F.head = next & (RING_READINGS - 1);
  F.sum = sum;
  F.tick_V = (<f32>tick_sum - D.tick_zero) * D.tick_volts;
  let mean_sum = <f32>sum;
  if (!isZero(D.mean_part)) mean_sum += D.mean_part * <f32>ringAt(next - whole - 1);
  F.mean_V = (mean_sum - D.mean_zero) * D.mean_volts;

  F.past = (F.past + 1) & (HISTORY_TICKS - 1);
  store<f32>(HISTORY + ((<usize>F.past) << 2), F.mean_V);
}

/** With a dead converter the top of the range: voltage at rest, or a saturated reading in a cut. 0 would let a strike begin. */
function reading(index: i32): i32 {
  if (S.converter_dead) return HIGHEST_COUNT;
  return <i32>load<u16>(INPUT + INPUT_READINGS + ((<usize>index) << 1));
}

/** Counts saturated and repeated readings. @returns true when none is further from the reference than a spike. */
function withinLimit(reference: i32): bool {
  let lowest = i32.MAX_VALUE;
  let highest = 0;
  let saturated = 0;
  let stuck = S.stuck_readings;
  let last = S.last_reading;
  for (let i = 0; i < READINGS_PER_TICK; i++) {
    const raw = reading(i);
    stuck = raw != last ? 0 : stuck + 1;
    last = raw;
    if (raw < lowest) lowest = raw;
    if (raw > highest) highest = raw;
    if (raw >= HIGHEST_COUNT) saturated++;
  }
  S.stuck_readings = stuck < STUCK_MOST ? stuck : STUCK_MOST;
  S.last_reading = last;
  F.saturated = saturated;
  return highest - reference <= D.spike_limit && reference - lowest <= D.spike_limit;
}

function apart(one: i32, other: i32): i32 {
  return one > other ? one - other : other - one;
}

/**
 * A reading far from the mean, and from the one half a mains period earlier, is replaced by the mean: a rectifier's ripple is far
 * from the mean too, but comes back. So until readings come back or spike_ms is over: then the
 * change is believed for as long as the mean needs to follow it.
 */
function reject(raw: i32, reference: i32, earlier: i32): i32 {
  if (F.believe > 0) {
    F.believe--;
    return raw;
  }
  const from_mean = apart(raw, reference);
  const from_earlier = apart(raw, earlier);
  const distance = from_mean < from_earlier ? from_mean : from_earlier;
  if (F.rejected == 0) {
    if (distance <= D.spike_limit) return raw;
  } else if (distance <= D.spike_release) {
    F.rejected = 0;
    return raw;
  } else if (F.rejected >= D.spike_longest) {
    F.rejected = 0;
    F.believe = RING_READINGS;
    return raw;
  }
  F.rejected++;
  F.spiked = 1;
  return reference;
}

/** Rise of the mean over the last `ticks` (1…15), in volts. */
export function rise(ticks: i32): f32 {
  return F.mean_V - load<f32>(HISTORY + ((<usize>((F.past - ticks) & (HISTORY_TICKS - 1))) << 2));
}
