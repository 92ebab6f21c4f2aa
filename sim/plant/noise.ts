import { Random, READINGS_PER_TICK } from '../base/index.js';
import type { MachineConfig } from './machine-config.js';
import { exactCosine, exactSine, lagShare } from './series.js';
import { STREAM } from './streams.js';
import type { WorldConfig } from './world-config.js';

const READINGS_HZ = 10000;
const TICKS_HZ = 1000;

/** A sine sampled at 10 kHz: a phasor that turns once a tick, and the tick's ten phases in a table. */
export class Ripple {
  /** The phasor at the tick's beginning, scaled to the peak value; a live sine is `in_phase·cosine + quadrature·sine`. */
  in_phase: number;
  quadrature: number;
  readonly cosine = new Float64Array(READINGS_PER_TICK);
  readonly sine = new Float64Array(READINGS_PER_TICK);
  private readonly turn_c: number;
  private readonly turn_s: number;
  private readonly square: number;

  /** @param frequency_Hz any; above 5 kHz the readings show its alias; @param start_turns phase at time 0. */
  constructor(frequency_Hz: number, peak: number, start_turns: number) {
    this.in_phase = peak * exactSine(start_turns);
    this.quadrature = peak * exactCosine(start_turns);
    for (let n = 0; n < READINGS_PER_TICK; n++) {
      const turns = (frequency_Hz / READINGS_HZ) * (n + 1);
      this.cosine[n] = exactCosine(turns);
      this.sine[n] = exactSine(turns);
    }
    this.turn_c = this.cosine[READINGS_PER_TICK - 1]!;
    this.turn_s = this.sine[READINGS_PER_TICK - 1]!;
    this.square = peak > 0 ? 1 / (peak * peak) : 0;
  }

  /** On to the next tick; the length is pulled back to the peak, so that rounding cannot make it grow. */
  advance(): void {
    const c = this.in_phase * this.turn_c + this.quadrature * this.turn_s;
    const s = this.quadrature * this.turn_c - this.in_phase * this.turn_s;
    const pull = 1.5 - 0.5 * (c * c + s * s) * this.square;
    this.in_phase = c * pull;
    this.quadrature = s * pull;
  }
}

/** What disturbs the arc voltage, as far as it changes from tick to tick; the readings' loop adds it up. */
export class Noise {
  readonly rectifier: Ripple;
  readonly inverter: Ripple;
  /** rms of white noise on one reading at the arc, V: √10 times that of the mean over a tick. */
  readonly white_V: number;
  /** Slow noise at the end of the tick, V. */
  coloured_V = 0;
  /** Volts that impulses add to each reading of the tick; all zero unless `impulsive` is set. */
  readonly impulse_V = new Float64Array(READINGS_PER_TICK);
  impulsive = 0;

  private readonly coloured: Random;
  private readonly coloured_keep: number;
  private readonly coloured_gain: number;
  private readonly impulse: Random;
  private readonly impulse_chance: number;
  private readonly impulse_height_V: number;
  private readonly impulse_readings: number;

  constructor(machine: MachineConfig, world: WorldConfig, seed: number) {
    const { noise } = world;
    const { supply } = machine;
    const phase = new Random(seed, STREAM.ripple);
    const ripple_Hz = supply.mains_Hz * (supply.phases === 3 ? 6 : 2);
    this.rectifier = new Ripple(ripple_Hz, noise.ripple_V_peak, phase.uniform());
    this.inverter = new Ripple(noise.inverter_kHz * 1000, noise.inverter_V_peak, phase.uniform());
    this.white_V = noise.white_V_rms_per_tick * Math.sqrt(READINGS_PER_TICK);
    this.coloured = new Random(seed, STREAM.coloured);
    const share = lagShare(2 * Math.PI * noise.coloured_corner_Hz, TICKS_HZ);
    this.coloured_keep = 1 - share;
    // A first-order recursion with factor k fed by unit noise has variance 1/(1 − k²).
    this.coloured_gain = noise.coloured_V_rms * Math.sqrt(1 - this.coloured_keep * this.coloured_keep);
    this.impulse = new Random(seed, STREAM.impulse);
    this.impulse_chance = noise.impulse_V > 0 ? noise.impulse_rate_per_s / TICKS_HZ : 0;
    this.impulse_height_V = noise.impulse_V;
    this.impulse_readings = (noise.impulse_ms * READINGS_HZ) / 1000;
  }

  /** One millisecond. */
  advance(): void {
    if (this.coloured_gain > 0) {
      this.coloured_V = this.coloured_V * this.coloured_keep + this.coloured_gain * this.coloured.gaussian();
    }
    if (this.impulsive !== 0) {
      this.impulse_V.fill(0);
      this.impulsive = 0;
    }
    if (this.impulse_chance > 0 && this.impulse.chance(this.impulse_chance)) this.strike();
  }

  /** One impulse somewhere in this tick: each reading gets the share of its 0.1 ms that the impulse fills. */
  private strike(): void {
    const height_V = this.impulse.chance(0.5) ? this.impulse_height_V : -this.impulse_height_V;
    const from = this.impulse.uniform() * (READINGS_PER_TICK - Math.min(READINGS_PER_TICK, this.impulse_readings));
    const to = from + this.impulse_readings;
    for (let n = Math.floor(from); n < READINGS_PER_TICK && n < to; n++) {
      this.impulse_V[n] = height_V * (Math.min(to, n + 1) - Math.max(from, n));
    }
    this.impulsive = 1;
  }
}
