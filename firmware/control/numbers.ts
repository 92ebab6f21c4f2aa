// Small f32 helpers. Written as selections, not as min/max: on a processor without an FPU the wasm min/max carry
// a NaN rule that costs calls.

/** One tick in seconds. */
export const TICK_S: f32 = 0.001;

export function clamp(value: f32, low: f32, high: f32): f32 {
  return value < low ? low : value > high ? high : value;
}

export function absolute(value: f32): f32 {
  return value < 0 ? -value : value;
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

/** Whole steps. Not a number, or more than any travel, becomes 0: its conversion would trap, and the guard sees it. */
export function wholeSteps(steps: f32): i32 {
  return absolute(steps) <= MOST_STEPS ? <i32>steps : 0;
}

/** Length of a plane vector. */
export function hypotenuse(x: f32, y: f32): f32 {
  return sqrt<f32>(x * x + y * y);
}
