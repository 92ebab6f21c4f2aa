// Lags and waves without the engine's own functions, and the random streams.

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
  pilot: 10,
  jump: 20,
  vibration: 21,
  pickup: 22,
  bump: 23,
  double: 24,
} as const;
