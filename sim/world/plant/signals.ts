// What the parts of the world share: lags and waves without the engine's own functions, random streams, and signals.

/*
 * Exponential and sine by power series: additions, multiplications and divisions only, so every engine
 * derives the same constants. For use at setup; the inner loops work with the constants.
 */

/** e^x for |x| ≤ 700, relative error below 1e-13. */
export function exponential(x: number): number {
  let halvings = 0;
  let small = x;
  while (small > 0.5 || small < -0.5) {
    small /= 2;
    halvings++;
  }
  let term = 1;
  let sum = 1;
  for (let n = 1; n <= 14; n++) {
    term *= small / n;
    sum += term;
  }
  for (let n = 0; n < halvings; n++) sum *= sum;
  return sum;
}

/**
 * Share of the way that a first-order lag goes in one period while its input is held: α = 1 − e^(−T/τ).
 * @param period and time_constant in one unit; a time constant of zero gives 1. Source: held-input RC, exact.
 */
export function lagShare(period: number, time_constant: number): number {
  const ratio = period / time_constant;
  return ratio > 40 ? 1 : 1 - exponential(-ratio);
}

/** Sine of a phase in turns, error below 1e-13. */
export function exactSine(turns: number): number {
  let part = turns - Math.floor(turns);
  if (part > 0.5) part -= 1;
  if (part > 0.25) part = 0.5 - part;
  if (part < -0.25) part = -0.5 - part;
  const x = part * 2 * Math.PI;
  let term = x;
  let sum = x;
  for (let n = 2; n <= 22; n += 2) {
    term *= (-x * x) / (n * (n + 1));
    sum += term;
  }
  return sum;
}

/** Cosine of a phase in turns, error below 1e-13. */
export function exactCosine(turns: number): number {
  return exactSine(turns + 0.25);
}

/** One stream of random numbers for each independent cause, so that switching one off does not shift another. */
export const STREAM = {
  reading: 1,
  coloured: 2,
  impulse: 3,
  ripple: 4,
  spatter: 5,
  strike: 6,
  bounce: 7,
  contact: 8,
  wave: 9,
} as const;

/**
 * The quantities that the parts of the world hand to one another, as places in one Float64Array: a number
 * passed to a function that is not inlined, or kept in a field, would be boxed by the engine on each tick.
 */
export const SIGNAL = {
  /** Torch in X and Y, mm; feed, mm/s; length of path, mm; unit vector of the motion. */
  x_mm: 0,
  y_mm: 1,
  feed_mm_s: 2,
  path_mm: 3,
  direction_x: 4,
  direction_y: 5,
  /** Carriage as the height of a tip that hangs free; undeflected surface; distance past the sheet's edge. */
  carriage_mm: 6,
  surface_mm: 7,
  beyond_mm: 8,
  /** True tip, true surface (pressed down where the tip rests), and their distance. */
  torch_mm: 9,
  plate_mm: 10,
  standoff_mm: 11,
  /** Share of missing metal ahead, the part of it removed by this run, and the share as the arc feels it. */
  ahead: 12,
  removed: 13,
  missing: 14,
  /** Arc voltage at the tick's beginning and end; slow noise at beginning and end. */
  before_V: 15,
  true_V: 16,
  slow_before_V: 17,
  slow_V: 18,
  sensed_V: 19,
  /** Motor in mm of carriage; rise by feed, V; what is left of the pierce's excess, 0…1; arc length, mm. */
  motor_mm: 20,
  feed_V: 21,
  excess: 22,
  length_mm: 23,
} as const;

export const SIGNAL_COUNT = 24;
