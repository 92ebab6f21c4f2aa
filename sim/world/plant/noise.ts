import { GAUSSIAN_SCALE, Random, READINGS_PER_TICK } from '../../base/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { exactCosine, exactSine, lagShare, SIGNAL, STREAM } from './signals.js';

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;
const READINGS = READINGS_PER_TICK;
const SCALE = GAUSSIAN_SCALE;

const READINGS_HZ = 10000;
const TICKS_HZ = 1000;

/**
 * Places in `Noise.waves`. A sine at 10 kHz follows from its last two values by s(n+1) = 2·cos(w)·s(n) − s(n−1),
 * which the readings' loop does; the loop leaves the last two values here. Rounding adds up to less than
 * 3e-6 of the peak in an hour (tried from 1 Hz to 300 Hz).
 */
export const WAVE = {
  rectifier: 0,
  rectifier_before: 1,
  rectifier_twice_cosine: 2,
  inverter: 3,
  inverter_before: 4,
  inverter_twice_cosine: 5,
} as const;

/** What disturbs the arc voltage, as far as it changes from tick to tick; the readings' loop adds it up. */
export class Noise {
  readonly waves = new Float64Array(6);
  /** Volts that an impulse adds to each reading of the tick; nearly always all zero. */
  readonly impulse_V = new Float64Array(READINGS);
  /** 1 while they are not. */
  impulsive = 0;

  private readonly coloured: Random;
  private readonly coloured_keep: number;
  private readonly coloured_gain: number;
  private readonly impulse: Random;
  /** Ticks to the next impulse, and the mean of that wait. */
  private readonly wait = new Float64Array([Infinity, Infinity]);
  private readonly impulse_height_V: number;
  private readonly impulse_readings: number;

  constructor(machine: MachineConfig, world: WorldConfig, seed: number) {
    const { noise } = world;
    const { supply } = machine;
    const phase = new Random(seed, STREAM.ripple);
    const ripple_Hz = supply.mains_Hz * (supply.phases === 3 ? 6 : 2);
    this.setWave(WAVE.rectifier, ripple_Hz, noise.ripple_V_peak, phase.uniform());
    this.setWave(WAVE.inverter, noise.inverter_kHz * 1000, noise.inverter_V_peak, phase.uniform());
    this.coloured = new Random(seed, STREAM.coloured);
    const share = lagShare(2 * Math.PI * noise.coloured_corner_Hz, TICKS_HZ);
    this.coloured_keep = 1 - share;
    // A first-order recursion with factor k fed by unit noise has variance 1/(1 − k²).
    this.coloured_gain = noise.coloured_V_rms * Math.sqrt(1 - this.coloured_keep * this.coloured_keep);
    this.impulse = new Random(seed, STREAM.impulse);
    this.impulse_height_V = noise.impulse_V;
    this.impulse_readings = (noise.impulse_ms * READINGS_HZ) / 1000;
    if (noise.impulse_rate_per_s > 0 && noise.impulse_V > 0) {
      this.wait[1] = TICKS_HZ / noise.impulse_rate_per_s;
      this.wait[0] = this.wait[1] * exponentialDraw(this.impulse);
    }
  }

  /** One millisecond. */
  advance(signals: Float64Array): void {
    signals[AT.slow_before_V] = signals[AT.slow_V];
    if (this.coloured_gain > 0) {
      signals[AT.slow_V] =
        signals[AT.slow_V] * this.coloured_keep + this.coloured_gain * (this.coloured.gaussianSum() * SCALE);
    }
    if (this.impulsive !== 0) this.clear();
    if (--this.wait[0] <= 0) this.strike();
  }

  private setWave(at: number, frequency_Hz: number, peak_V: number, start_turns: number): void {
    const step = frequency_Hz / READINGS_HZ;
    this.waves[at] = peak_V * exactSine(start_turns);
    this.waves[at + 1] = peak_V * exactSine(start_turns - step);
    this.waves[at + 2] = 2 * exactCosine(step);
  }

  /** One impulse somewhere in this tick: each reading gets the share of its 0.1 ms that the impulse fills. */
  private strike(): void {
    this.wait[0] += this.wait[1] * exponentialDraw(this.impulse);
    const height_V = this.impulse.chance(0.5) ? this.impulse_height_V : -this.impulse_height_V;
    const from = this.impulse.uniform() * (READINGS - this.impulse_readings);
    const to = from + this.impulse_readings;
    for (let n = Math.floor(from); n < READINGS && n < to; n++) {
      this.impulse_V[n] = height_V * (Math.min(to, n + 1) - Math.max(from, n));
    }
    this.impulsive = 1;
  }

  private clear(): void {
    for (let n = 0; n < READINGS; n++) this.impulse_V[n] = 0;
    this.impulsive = 0;
  }
}

/**
 * Exponentially distributed with mean 1, by von Neumann's comparison of uniform draws (1951): exact, and
 * no logarithm is needed. From memory; the test compares mean and spread with the distribution's.
 */
export function exponentialDraw(random: Random): number {
  for (let whole = 0; ; whole++) {
    const first = random.uniform();
    let before = first;
    let length = 1;
    for (let next = random.uniform(); next < before; next = random.uniform()) {
      before = next;
      length++;
    }
    if (length % 2 === 1) return whole + first;
  }
}
