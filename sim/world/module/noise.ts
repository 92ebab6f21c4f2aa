// What disturbs the arc voltage, as far as it changes from tick to tick; the readings' loop adds it up.
import { COLOURED_RANDOM, IMPULSE_RANDOM, IMPULSE_V, noise } from './cells.gen';
import { chance, exponentialDraw, gaussian, uniform } from './random';

const READINGS: i32 = 10;

/** One millisecond. */
export function advanceNoise(): void {
  noise.slow_before_V = noise.slow_V;
  if (noise.coloured_gain > 0) {
    noise.slow_V = noise.slow_V * noise.coloured_keep + noise.coloured_gain * gaussian(COLOURED_RANDOM);
  }
  if (noise.impulsive != 0) clear();
  if (--noise.wait_ticks <= 0) strike();
}

/** One impulse somewhere in this tick: each reading gets the share of its 0.1 ms that the impulse fills. */
function strike(): void {
  noise.wait_ticks += noise.mean_wait_ticks * exponentialDraw(IMPULSE_RANDOM);
  const height_V = chance(IMPULSE_RANDOM, 0.5) ? noise.impulse_height_V : -noise.impulse_height_V;
  const from = uniform(IMPULSE_RANDOM) * (<f64>READINGS - noise.impulse_readings);
  const to = from + noise.impulse_readings;
  for (let n = <i32>floor<f64>(from); n < READINGS && <f64>n < to; n++) {
    const filled = min<f64>(to, <f64>(n + 1)) - max<f64>(from, <f64>n);
    store<f64>(IMPULSE_V + ((<usize>n) << 3), height_V * filled);
  }
  noise.impulsive = 1;
}

function clear(): void {
  for (let n = 0; n < READINGS; n++) store<f64>(IMPULSE_V + ((<usize>n) << 3), 0);
  noise.impulsive = 0;
}
