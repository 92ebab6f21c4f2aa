// From the arc to converter counts at 10 kHz: noise at the arc, divider, RC, isolation stage, converter. Within a tick the
// arc voltage goes straight from its old to its new value; each stage holds its input for one reading.
import { ARC_OUT } from './arc';
import {
  arc,
  COLOURED_RANDOM,
  CONTACT_RANDOM,
  DOUBLE_RANDOM,
  IMPULSE_RANDOM,
  IMPULSE_V,
  JUMP_RANDOM,
  noise,
  READING_RANDOM,
  sensing,
} from './cells.gen';
import { chance, exponentialDraw, gaussian, uniform } from './random';

const READINGS: i32 = 10;
/** Less than this is nothing: a lag that faded into denormal numbers would slow the processor down a hundredfold. */
const TINY: f64 = 1e-18;
/** Mean length of an interruption by an intermittent contact, ms (assumption). */
const INTERRUPTION_MS: f64 = 10;
const MIDDLE_OF_THREE: f64 = 1.5 * 255.0;

/** One millisecond of what disturbs the arc voltage, as far as it changes from tick to tick. */
export function advanceNoise(): void {
  noise.slow_before_V = noise.slow_V;
  if (noise.coloured_gain > 0) {
    noise.slow_V = noise.slow_V * noise.coloured_keep + noise.coloured_gain * gaussian(COLOURED_RANDOM);
  }
  if (noise.pickup_twice_cosine != 0) pickUp();
  else if (noise.impulsive != 0) clear();
  if (--noise.wait_ticks <= 0) strike();
}

/** Mains voltage that the leads pick up, live or not: it adds to every reading. */
function pickUp(): void {
  const twice_cosine = noise.pickup_twice_cosine;
  let last = noise.pickup;
  let before = noise.pickup_before;
  for (let n = 0; n < READINGS; n++) {
    const next = twice_cosine * last - before;
    before = last;
    last = next;
    store<f64>(IMPULSE_V + ((<usize>n) << 3), next);
  }
  noise.pickup = last;
  noise.pickup_before = before;
  noise.impulsive = 1;
}

/** Draws the wait for the first impulse, and for the first jump of the arc, where there are any. */
export function drawImpulse(): void {
  if (noise.mean_wait_ticks < Infinity) noise.wait_ticks = noise.mean_wait_ticks * exponentialDraw(IMPULSE_RANDOM);
  if (arc.jump_V > 0) arc.jump_wait_ms = arc.jump_mean_ms * exponentialDraw(JUMP_RANDOM);
  if (arc.double_V > 0) arc.double_wait_ms = arc.double_mean_ms * exponentialDraw(DOUBLE_RANDOM);
}

/** One impulse somewhere in this tick: each reading gets the share of its 0.1 ms that the impulse fills. */
function strike(): void {
  noise.wait_ticks += noise.mean_wait_ticks * exponentialDraw(IMPULSE_RANDOM);
  const height_V = chance(IMPULSE_RANDOM, 0.5) ? noise.impulse_height_V : -noise.impulse_height_V;
  const from = uniform(IMPULSE_RANDOM) * (<f64>READINGS - noise.impulse_readings);
  const to = from + noise.impulse_readings;
  for (let n = <i32>floor<f64>(from); n < READINGS && <f64>n < to; n++) {
    const filled = min<f64>(to, <f64>(n + 1)) - max<f64>(from, <f64>n);
    const at = IMPULSE_V + ((<usize>n) << 3);
    store<f64>(at, load<f64>(at) + height_V * filled);
  }
  noise.impulsive = 1;
}

function clear(): void {
  for (let n = 0; n < READINGS; n++) store<f64>(IMPULSE_V + ((<usize>n) << 3), 0);
  noise.impulsive = 0;
}

/** The ten readings of one millisecond, u16 each. @param readings where they go */
export function takeReadings(readings: usize): void {
  if (sensing.interruption_chance > 0) interrupt();
  if (sensing.forced_code < 0) {
    // Only a live torch carries white, slow and ripple noise; impulses come from elsewhere.
    const live = arc.state != ARC_OUT;
    const dead = !live && noise.impulsive == 0 && sensing.tap_V == 0;
    if (dead && arc.before_V == 0 && arc.true_V == 0) idle(readings);
    else convert(readings, live ? 1 : 0);
    if (sensing.wide_half > 0) widen(readings);
    drift();
  } else {
    for (let n = 0; n < READINGS; n++) store<u16>(readings + ((<usize>n) << 1), <u16>sensing.forced_code);
  }
}

function drift(): void {
  sensing.drifted_zero += sensing.zero_drift;
  sensing.drifted_gain += sensing.gain_drift;
}

/**
 * Four codes of the converter are wide: all that lies within is read as one, and what lies between is shared out over the
 * codes that are left. RP2040 data sheet, erratum E11: 512, 1536, 2560, 3584.
 */
function widen(readings: usize): void {
  const codes = sensing.most + 1.0;
  const half = sensing.wide_half;
  const stretch = codes / (codes - 8.0 * half);
  for (let n = 0; n < READINGS; n++) {
    const at = readings + ((<usize>n) << 1);
    const count = <f64>load<u16>(at);
    const wide = (floor<f64>((count * 4.0) / codes) + 0.5) * (codes / 4.0);
    const away = count - wide;
    const beyond = abs<f64>(away) - half;
    const shifted = beyond <= 0 ? 0 : away > 0 ? beyond * stretch : -beyond * stretch;
    store<u16>(at, <u16>min<f64>(sensing.most, max<f64>(0, floor<f64>(wide + shifted + 0.5))));
  }
}

function convert(readings: usize, live_torch: f64): void {
  const lead = <f64>sensing.lead;
  const live = live_torch * lead;
  const gain = lead * sensing.tap_per_V;
  const live_gain = live * sensing.tap_per_V;
  const white = live * sensing.white;
  const inverter_gain = live * sensing.inverter;
  const before = arc.before_V + live * noise.slow_before_V;
  const after = arc.true_V + live * noise.slow_V;
  const rise = ((after - before) * gain) / <f64>READINGS;
  let input = before * gain - white * MIDDLE_OF_THREE;
  const share = sensing.share;
  const keep = 1.0 - share;
  const isolation_share = sensing.isolation_share;
  const isolation_keep = sensing.isolation_keep;
  const isolation_add = sensing.isolation_add;
  const counts_per_V = sensing.counts_per_V * (1.0 + sensing.drifted_gain);
  const zero = sensing.zero + sensing.drifted_zero;
  const converter_noise = sensing.converter_noise;
  const most = <i32>sensing.most;
  let tap_V = sensing.tap_V;
  let isolated_V = sensing.isolated_V;
  let a = load<u32>(READING_RANDOM);
  let b = load<u32>(READING_RANDOM, 4);
  let c = load<u32>(READING_RANDOM, 8);
  let counter = load<u32>(READING_RANDOM, 12);
  let ripple = noise.rectifier;
  let ripple_before = noise.rectifier_before;
  const ripple_twice_cosine = noise.rectifier_twice_cosine;
  let inverter = noise.inverter;
  let inverter_before = noise.inverter_before;
  const inverter_twice_cosine = noise.inverter_twice_cosine;
  for (let n = 0; n < READINGS; n++) {
    const bits = a + b + counter;
    counter++;
    a = b ^ (b >>> 9);
    b = c + (c << 3);
    c = ((c << 21) | (c >>> 11)) + bits;
    input += rise;
    const three_bytes = <f64>((bits & 255) + ((bits >>> 8) & 255) + ((bits >>> 16) & 255));
    const ripple_next = ripple_twice_cosine * ripple - ripple_before;
    ripple_before = ripple;
    ripple = ripple_next;
    const inverter_next = inverter_twice_cosine * inverter - inverter_before;
    inverter_before = inverter;
    inverter = inverter_next;
    const impulse_V = load<f64>(IMPULSE_V + ((<usize>n) << 3));
    const arc_V = input + white * three_bytes + live_gain * ripple + gain * impulse_V;
    tap_V = keep * tap_V + share * arc_V;
    isolated_V = isolation_keep * isolated_V + (isolation_share * tap_V + isolation_add);
    const own = zero + converter_noise * <f64>(bits >>> 24) + inverter_gain * inverter;
    const counts = <i32>(counts_per_V * isolated_V + own);
    store<u16>(readings + ((<usize>n) << 1), <u16>max<i32>(0, min<i32>(most, counts)));
  }
  noise.rectifier = ripple;
  noise.rectifier_before = ripple_before;
  noise.inverter = inverter;
  noise.inverter_before = inverter_before;
  store<u32>(READING_RANDOM, a);
  store<u32>(READING_RANDOM, b, 4);
  store<u32>(READING_RANDOM, c, 8);
  store<u32>(READING_RANDOM, counter, 12);
  sensing.tap_V = tap_V > TINY || tap_V < -TINY ? tap_V : 0;
  sensing.isolated_V = isolated_V > TINY || isolated_V < -TINY ? isolated_V : 0;
  sensing.sensed_V = tap_V * sensing.ratio;
}

/**
 * As `convert` where nothing is at the tap: bit for bit the same readings from half of the arithmetic. The torch is dead in
 * two of three ticks of a campaign; without this its cuts take 8 % longer.
 */
function idle(readings: usize): void {
  const isolation_keep = sensing.isolation_keep;
  const isolation_add = sensing.isolation_add;
  const counts_per_V = sensing.counts_per_V * (1.0 + sensing.drifted_gain);
  const zero = sensing.zero + sensing.drifted_zero;
  const converter_noise = sensing.converter_noise;
  const most = <i32>sensing.most;
  let isolated_V = sensing.isolated_V;
  let a = load<u32>(READING_RANDOM);
  let b = load<u32>(READING_RANDOM, 4);
  let c = load<u32>(READING_RANDOM, 8);
  let counter = load<u32>(READING_RANDOM, 12);
  let ripple = noise.rectifier;
  let ripple_before = noise.rectifier_before;
  const ripple_twice_cosine = noise.rectifier_twice_cosine;
  let inverter = noise.inverter;
  let inverter_before = noise.inverter_before;
  const inverter_twice_cosine = noise.inverter_twice_cosine;
  for (let n = 0; n < READINGS; n++) {
    const bits = a + b + counter;
    counter++;
    a = b ^ (b >>> 9);
    b = c + (c << 3);
    c = ((c << 21) | (c >>> 11)) + bits;
    const ripple_next = ripple_twice_cosine * ripple - ripple_before;
    ripple_before = ripple;
    ripple = ripple_next;
    const inverter_next = inverter_twice_cosine * inverter - inverter_before;
    inverter_before = inverter;
    inverter = inverter_next;
    isolated_V = isolation_keep * isolated_V + isolation_add;
    const counts = <i32>(counts_per_V * isolated_V + (zero + converter_noise * <f64>(bits >>> 24)));
    store<u16>(readings + ((<usize>n) << 1), <u16>max<i32>(0, min<i32>(most, counts)));
  }
  noise.rectifier = ripple;
  noise.rectifier_before = ripple_before;
  noise.inverter = inverter;
  noise.inverter_before = inverter_before;
  store<u32>(READING_RANDOM, a);
  store<u32>(READING_RANDOM, b, 4);
  store<u32>(READING_RANDOM, c, 8);
  store<u32>(READING_RANDOM, counter, 12);
  sensing.isolated_V = isolated_V > TINY || isolated_V < -TINY ? isolated_V : 0;
  sensing.sensed_V = 0;
}

/** An intermittent contact opens and closes at random. */
function interrupt(): void {
  if (sensing.lead == 1) sensing.lead = chance(CONTACT_RANDOM, sensing.interruption_chance) ? 0 : 1;
  else sensing.lead = chance(CONTACT_RANDOM, 1.0 / INTERRUPTION_MS) ? 1 : 0;
}
