// The streams of random numbers: sfc32 as in the host's Random, which seeds them; four words of state each.

/** 32 random bits of the stream at `at`. */
export function next_u32(at: usize): u32 {
  const b = load<u32>(at, 4);
  const c = load<u32>(at, 8);
  const counter = load<u32>(at, 12);
  const sum = load<u32>(at) + b + counter;
  store<u32>(at, counter + 1, 12);
  store<u32>(at, b ^ (b >>> 9));
  store<u32>(at, c + (c << 3), 4);
  store<u32>(at, ((c << 21) | (c >>> 11)) + sum, 8);
  return sum;
}

/** Uniform in 0 ≤ x < 1. */
export function uniform(at: usize): f64 {
  return <f64>next_u32(at) / 4294967296.0;
}

/** True with the given probability. */
export function chance(at: usize, probability: f64): bool {
  return uniform(at) < probability;
}

/** Four bytes, each uniform on 0…255, have variance 4·(256² − 1)/12; the inverse of its root. */
const GAUSSIAN_SCALE: f64 = 1.0 / sqrt<f64>((4.0 * (256.0 * 256.0 - 1.0)) / 12.0);

/** Nearly Gaussian, mean 0, rms 1: the sum of the four bytes of one draw. */
export function gaussian(at: usize): f64 {
  const bits = next_u32(at);
  const sum = <i32>((bits & 0xff) + ((bits >>> 8) & 0xff) + ((bits >>> 16) & 0xff) + (bits >>> 24)) - 510;
  return <f64>sum * GAUSSIAN_SCALE;
}

/**
 * Exponentially distributed with mean 1, by von Neumann's comparison of uniform draws (1951): exact, and no logarithm is
 * needed. From memory; a test compares mean and spread with the distribution's.
 */
export function exponentialDraw(at: usize): f64 {
  let whole: f64 = 0;
  let first = uniform(at);
  while (runLength(at, first) % 2 == 0) {
    whole++;
    first = uniform(at);
  }
  return whole + first;
}

/** Draws until one is not below the one before it. @returns the length of the falling run, its first draw counted */
function runLength(at: usize, first: f64): i32 {
  let before = first;
  let length = 1;
  for (let next = uniform(at); next < before; next = uniform(at)) {
    before = next;
    length++;
  }
  return length;
}

const A: f64 = Math.PI / 2.0;
const B: f64 = Math.PI - 2.5;
const C: f64 = Math.PI / 2.0 - 1.5;

/**
 * Sine of a phase in turns (1 = one period), by polynomial. Largest error about 4e-4 in amplitude.
 *
 * On a quarter wave x = 0…1: sin(πx/2) ≈ x·(a − x²·(b − c·x²)), coefficients fixed by value 1 and slope 0
 * at x = 1 and slope π/2 at x = 0.
 */
export function sine_of_turns(turns: f64): f64 {
  let x = turns - floor<f64>(turns);
  let sign: f64 = 1;
  if (x >= 0.5) {
    x -= 0.5;
    sign = -1;
  }
  if (x > 0.25) x = 0.5 - x;
  x *= 4;
  const square = x * x;
  return sign * x * (A - square * (B - C * square));
}
