// From readings to volts: spike rejection, decimation to 1 kHz, calibration, and a moving mean over half a mains
// period (50 Hz: 100 readings; 60 Hz: 83⅓ with a fractional end weight), which nulls rectifier ripple.

import { INPUT_READINGS, READINGS_PER_TICK } from '../wire/layout.gen';
import { below, isZero, limit } from './numbers';
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
  forgetPickup();
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
  F.mean_V = withoutPickup((mean_sum - D.mean_zero) * D.mean_volts);

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

/** The mean so many ticks (0…15) before the last one that was kept. */
function earlier(ticks: i32): f32 {
  return load<f32>(HISTORY + ((<usize>((F.past - ticks) & (HISTORY_TICKS - 1))) << 2));
}

/** Rise of the mean over the last `ticks` (1…15), in volts. */
export function rise(ticks: i32): f32 {
  return F.mean_V - earlier(ticks);
}

// Mains voltage that the sensing leads pick up. The mean over half a mains period nulls a rectifier's ripple, but leaves two thirds
// of a pickup at the mains frequency itself. It hardly changes, and is there at rest too, so it is followed and taken out: a mean
// over a whole period would do the same, at the price of 5 ms more delay in the regulator.

/** Amplitude and phase are followed with a lag of 2/0.008 ticks, 250 ms: what is taken out is 1.3 Hz wide. */
const FOLLOW_SHARE: f32 = 0.008;
/** A lag of 20 ms tells what stands from what swings. */
const STEADY_SHARE: f32 = 0.05;
/** No more than this of what is not foreseen counts in a tick, V… */
const SWING_MOST_V: f32 = 3;
/** …and nothing beyond this: an arc that is struck, or a kerf, is no pickup. */
const JUMP_V: f32 = 8;
/** Less is nothing, V: what fades would end in denormal numbers, which are slow. */
const SWING_LEAST_V: f32 = 1e-5;
/** More is no number. */
const SWING_LARGEST_V: f32 = 1000;

/** One tick. @returns the mean without what is picked up, V */
function withoutPickup(mean_V: f32): f32 {
  const swing_V = F.pickup_V * D.mains_cosine - F.pickup_quarter_V * D.mains_sine;
  const quarter_V = F.pickup_quarter_V * D.mains_cosine + F.pickup_V * D.mains_sine;
  const rest_V = mean_V - swing_V;
  const off_V = rest_V - F.steady_V;
  if (!below(off_V, JUMP_V)) return jump(mean_V, swing_V, quarter_V);
  F.steady_V += off_V * STEADY_SHARE;
  swing(swing_V + limit(off_V, SWING_MOST_V) * FOLLOW_SHARE, quarter_V);
  return rest_V;
}

function swing(swing_V: f32, quarter_V: f32): void {
  F.pickup_V = below(swing_V, SWING_LEAST_V) ? 0 : swing_V;
  F.pickup_quarter_V = below(quarter_V, SWING_LEAST_V) ? 0 : quarter_V;
}

/** What was picked up goes on; nothing is learned. */
function jump(mean_V: f32, swing_V: f32, quarter_V: f32): f32 {
  if (below(swing_V, SWING_LARGEST_V) && below(quarter_V, SWING_LARGEST_V)) swing(swing_V, quarter_V);
  else swing(0, 0);
  F.steady_V = mean_V - F.pickup_V;
  return F.steady_V;
}

function forgetPickup(): void {
  swing(0, 0);
  F.steady_V = 0;
}
