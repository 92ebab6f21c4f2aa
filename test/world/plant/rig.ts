import { READINGS_PER_TICK } from '../../../sim/base/index.js';
import {
  DEFAULT_MACHINE,
  DEFAULT_WORLD,
  type Fault,
  type MachineConfig,
  World,
  type WorldConfig,
  withValues,
} from '../../../sim/world/plant/index.js';

type Values = Readonly<Record<string, number | boolean>>;

/** A machine with ideal sensing whose torch begins at cut height; without play, so that steps are millimetres. */
const BARE_MACHINE: Values = {
  'axis.z_start_mm': 1.5,
  'axis.backlash_um': 0,
  'converter.noise_counts': 0,
  'firing.relay_close_ms': 0,
  'firing.relay_release_ms': 0,
  'supply.contact_delay_ms': 0,
  'head.bounce_ms': 0,
};

/** A world in which every cause is off: flat stiff sheet, no noise, an arc that depends on its length only. */
const BARE_WORLD: Values = {
  'sheet.tilt_x': 0,
  'sheet.wave_mm': 0,
  'sheet.heat_growth_mm_per_s': 0,
  'sheet.compliance_mm_per_N': 0,
  'arc.feed_effect_V': 0,
  'arc.pierce_excess_V': 0,
  'arc.spatter_V_rms': 0,
  'arc.wear_V_per_start': 0,
  'arc.wear_V_per_min': 0,
  'noise.white_V_rms_per_tick': 0,
  'noise.coloured_V_rms': 0,
  'noise.ripple_V_peak': 0,
  'noise.inverter_V_peak': 0,
  'noise.impulse_rate_per_s': 0,
};

export interface RigOptions {
  readonly machine?: Values;
  readonly world?: Values;
  readonly faults?: readonly Fault[];
  readonly seed?: number;
  readonly x_mm?: number;
  readonly y_mm?: number;
}

/** A world on its own with a hand at each of its inputs. */
export class Rig {
  readonly machine: MachineConfig;
  readonly config: WorldConfig;
  readonly world: World;
  trigger = 0;
  owned = 1;
  x_mm: number;
  y_mm: number;
  path_mm = 0;

  constructor(options: RigOptions = {}) {
    this.machine = withValues(DEFAULT_MACHINE, { ...BARE_MACHINE, ...options.machine });
    this.config = {
      ...withValues(DEFAULT_WORLD, { ...BARE_WORLD, ...options.world }),
      faults: options.faults ?? [],
    };
    this.world = new World(this.machine, this.config, options.seed ?? 1);
    this.x_mm = options.x_mm ?? 100;
    this.y_mm = options.y_mm ?? 100;
  }

  /** Let time pass with the torch at rest in X and Y. @param z_steps each millisecond. */
  wait(ms: number, z_steps = 0, each?: (ms: number) => void): this {
    for (let n = 0; n < ms; n++) {
      this.world.place(this.x_mm, this.y_mm, 0, this.path_mm, 0, 0);
      this.world.advance(z_steps, this.trigger, this.owned);
      each?.(n);
    }
    return this;
  }

  /** Move in a straight line at a feed. */
  move(to_x_mm: number, to_y_mm: number, feed_mm_s: number, each?: (ms: number) => void): this {
    const dx = to_x_mm - this.x_mm;
    const dy = to_y_mm - this.y_mm;
    const length_mm = Math.hypot(dx, dy);
    const from_x_mm = this.x_mm;
    const from_y_mm = this.y_mm;
    const from_path_mm = this.path_mm;
    const ticks = Math.round((length_mm / feed_mm_s) * 1000);
    for (let n = 1; n <= ticks; n++) {
      this.x_mm = from_x_mm + (dx * n) / ticks;
      this.y_mm = from_y_mm + (dy * n) / ticks;
      this.path_mm = from_path_mm + (length_mm * n) / ticks;
      const { trigger, owned, path_mm } = this;
      const { x_mm, y_mm } = this;
      this.world.place(x_mm, y_mm, feed_mm_s, path_mm, dx / length_mm, dy / length_mm);
      this.world.advance(0, trigger, owned);
      each?.(n);
    }
    return this;
  }

  /** Pull the trigger and wait until the arc burns on the work. */
  strike(): this {
    this.trigger = 1;
    for (let n = 0; n < 1000 && this.world.cells.arc.burning === 0; n++) this.wait(1);
    if (this.world.cells.arc.burning === 0) throw new Error('the arc did not transfer within a second');
    return this;
  }

  /** Arc volts that one reading stands for, by the machine's nominal values. */
  volts(code: number): number {
    const { converter, divider } = this.machine;
    const volts_per_count = converter.reference_V / 2 ** converter.bits;
    return (code - converter.zero_counts) * volts_per_count * divider.ratio;
  }

  /** Mean of the last tick's readings in arc volts. */
  mean_V(): number {
    let sum = 0;
    for (const code of this.world.readings) sum += this.volts(code);
    return sum / READINGS_PER_TICK;
  }

  /** All readings of some ticks to come, in arc volts. */
  record_V(ticks: number): Float64Array {
    const result = new Float64Array(ticks * READINGS_PER_TICK);
    for (let tick = 0; tick < ticks; tick++) {
      this.wait(1);
      for (let n = 0; n < READINGS_PER_TICK; n++) {
        result[tick * READINGS_PER_TICK + n] = this.volts(this.world.readings[n]);
      }
    }
    return result;
  }
}

/** Sensing that passes everything: hardly any filter, fine steps. For looking at the noise itself. */
export const OPEN_SENSING: Values = {
  'divider.rc_ms': 0.02,
  'isolation.bandwidth_kHz': 1000,
  'divider.ratio': 120,
};

export function mean(values: ArrayLike<number>): number {
  let sum = 0;
  for (let n = 0; n < values.length; n++) sum += values[n];
  return sum / values.length;
}

export function rms(values: ArrayLike<number>): number {
  const middle = mean(values);
  let sum = 0;
  for (let n = 0; n < values.length; n++) sum += (values[n] - middle) ** 2;
  return Math.sqrt(sum / values.length);
}

/** Means over each group of so many values. */
export function means(values: Float64Array, size: number): Float64Array {
  const result = new Float64Array(Math.floor(values.length / size));
  for (let n = 0; n < result.length; n++) result[n] = mean(values.subarray(n * size, (n + 1) * size));
  return result;
}

/** Peak value of the sine at one frequency in readings at 10 kHz (a single term of the Fourier sum). */
export function peakAt(values: Float64Array, frequency_Hz: number): number {
  const middle = mean(values);
  let c = 0;
  let s = 0;
  for (let n = 0; n < values.length; n++) {
    const angle = (2 * Math.PI * frequency_Hz * n) / 10000;
    c += (values[n] - middle) * Math.cos(angle);
    s += (values[n] - middle) * Math.sin(angle);
  }
  return (2 * Math.hypot(c, s)) / values.length;
}
