// Small f32 helpers. Written as selections, not as min/max: on a processor without an FPU the wasm min/max carry
// a NaN rule that costs calls. There a comparison of floats is a call too; magnitudes stand in the order of their bits and
// are compared as integers.

/** One tick in seconds, and ticks in a second: a product is cheaper than a quotient. */
export const TICK_S: f32 = 0.001;
export const TICKS_PER_S: f32 = 1000;

const SIGN: u32 = 0x80000000;
/** Bits of infinity; above them is NaN. */
const INFINITE: u32 = 0x7f800000;

function magnitude(value: f32): u32 {
  return reinterpret<u32>(value) & ~SIGN;
}

export function clamp(value: f32, low: f32, high: f32): f32 {
  return value < low ? low : value > high ? high : value;
}

export function absolute(value: f32): f32 {
  return reinterpret<f32>(magnitude(value));
}

export function isZero(value: f32): bool {
  return magnitude(value) == 0;
}

/** value > 0; true for NaN as well. */
export function isPositive(value: f32): bool {
  return reinterpret<i32>(value) > 0;
}

/** |value| < bound. @param bound 0 or more */
export function below(value: f32, bound: f32): bool {
  return magnitude(value) < reinterpret<u32>(bound);
}

/** |value| > bound; false for NaN. @param bound 0 or more */
export function exceeds(value: f32, bound: f32): bool {
  const size = magnitude(value);
  return size > reinterpret<u32>(bound) && size <= INFINITE;
}

/** −bound…bound; NaN stays, and the guard sees it. @param bound 0 or more */
export function limit(value: f32, bound: f32): f32 {
  if (!exceeds(value, bound)) return value;
  return isPositive(value) ? bound : -bound;
}

/**
 * Share of the way that a first-order lag with this time constant goes in one tick, by the backward rule
 * 1/(1 + τ/T): always in 0…1, no exponential. Against the held-input 1 − e^(−T/τ) it is slower by T/2.
 */
export function lagShare(time_constant_ms: f32): f32 {
  return <f32>1 / (<f32>1 + time_constant_ms);
}

/** More steps than any travel has. */
const MOST_STEPS: f32 = 2000000;

/** Whole steps. NaN, or more than any travel, becomes 0: its conversion would trap, and the guard sees it. */
export function wholeSteps(steps: f32): i32 {
  return magnitude(steps) <= reinterpret<u32>(MOST_STEPS) ? <i32>steps : 0;
}

/** The first whole tick in which a count of them has reached this time. */
export function wholeTicks(time_ms: f32): i32 {
  const whole = <i32>time_ms;
  return <f32>whole < time_ms ? whole + 1 : whole;
}

/** Length of a plane vector. */
export function hypotenuse(x: f32, y: f32): f32 {
  if (isZero(y)) return absolute(x);
  if (isZero(x)) return absolute(y);
  return sqrt<f32>(x * x + y * y);
}
