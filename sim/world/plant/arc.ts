// One part of the world, a file: supply and arc. world.ts moves all parts on and would be 1200 lines with them.
import { Random } from '../../base/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { lagShare, SIGNAL, STREAM } from './signals.js';

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;

/** Less than this is nothing: a lag that faded into denormal numbers would slow the processor down a hundredfold. */
const TINY = 1e-12;

/** What the supply and the arc do; out is also the time in which the voltage decays. */
export const ARC_OUT = 0;
export const ARC_NO_LOAD = 1;
export const ARC_PILOT = 2;
export const ARC_BURNING = 3;

/**
 * The arc on a constant-current supply: V = voltage at cut + slope · (length − cut standoff), with
 * length = standoff + what feed and missing metal add to it, and less and less for long arcs.
 */
export class Arc {
  state = ARC_OUT;
  starts = 0;
  on_ms = 0;
  /** Faults, set by the world. */
  never_starts = 0;
  goes_out = 0;

  private since_ms = 0;
  private off_wait_ms = 0;
  private stretched_ms = 0;
  private ready = 1;
  private fails = 0;
  private readonly strike: Random;
  private readonly spatter: Random;

  private readonly cut_V: number;
  private readonly cut_mm: number;
  private readonly slope: number;
  private readonly per_slope: number;
  private readonly roll_from_mm: number;
  private readonly per_roll: number;
  private readonly per_nominal: number;
  private readonly feed_effect_V: number;
  private readonly feed_share: number;
  private readonly crossing_V: number;
  private readonly front_share: number;
  private readonly reach_mm: number;
  private readonly reach_ms: number;
  private readonly excess_V: number;
  private readonly excess_keep: number;
  private readonly spatter_V: number;
  private readonly wear_V_per_start: number;
  private readonly wear_V_per_ms: number;
  private readonly no_load_V: number;
  private readonly no_load_ms: number;
  private readonly pilot_V: number;
  private readonly strike_ms: number;
  private readonly transfer_mm: number;
  private readonly fail_chance: number;
  private readonly off_ms: number;
  private readonly fall_keep: number;
  private readonly restrikes: number;

  constructor(machine: MachineConfig, world: WorldConfig, seed: number) {
    const { arc } = world;
    this.strike = new Random(seed, STREAM.strike);
    this.spatter = new Random(seed, STREAM.spatter);
    this.cut_V = arc.voltage_at_cut_V;
    this.cut_mm = arc.cut_standoff_mm;
    this.slope = arc.slope_V_per_mm;
    this.per_slope = 1 / arc.slope_V_per_mm;
    this.roll_from_mm = arc.roll_off_from_mm;
    this.per_roll = 1 / arc.roll_off_mm;
    this.per_nominal = 1 / arc.nominal_feed_mm_s;
    this.feed_effect_V = arc.feed_effect_V;
    this.feed_share = lagShare(1, arc.feed_effect_ms);
    this.crossing_V = arc.crossing_V;
    this.front_share = lagShare(1, arc.front_ms);
    this.reach_mm = arc.reach_mm;
    this.reach_ms = arc.reach_ms;
    this.excess_V = arc.pierce_excess_V;
    this.excess_keep = 1 - lagShare(1, arc.pierce_decay_ms);
    this.spatter_V = arc.spatter_V_rms;
    this.wear_V_per_start = arc.wear_V_per_start;
    this.wear_V_per_ms = arc.wear_V_per_min / 60000;
    this.no_load_V = machine.supply.no_load_V;
    this.no_load_ms = arc.no_load_ms;
    this.pilot_V = machine.supply.pilot_V;
    this.strike_ms = arc.strike_delay_ms;
    this.transfer_mm = arc.transfer_height_mm;
    this.fail_chance = arc.strike_fail_chance;
    this.off_ms = arc.off_ms;
    this.fall_keep = 1 - lagShare(1, arc.fall_ms);
    this.restrikes = machine.supply.restrikes ? 1 : 0;
  }

  /**
   * One millisecond: voltage, length and the missing metal that the arc feels go into the signals.
   * @param call 1 while the supply is asked to burn
   */
  advance(signals: Float64Array, call: number): void {
    if (this.state === ARC_BURNING) {
      this.burn(signals, call);
    } else if (call === 0) {
      this.ready = 1;
      this.goOut(signals);
    } else if (this.state === ARC_OUT) {
      if (this.ready === 0) this.goOut(signals);
      else this.begin(signals);
    } else {
      this.wait(signals);
    }
  }

  private begin(signals: Float64Array): void {
    this.state = ARC_NO_LOAD;
    this.since_ms = 0;
    this.fails = this.strike.chance(this.fail_chance) ? 1 : 0;
    signals[AT.true_V] = this.no_load_V;
  }

  private wait(signals: Float64Array): void {
    this.since_ms++;
    if (this.never_starts !== 0) return;
    if (this.state === ARC_NO_LOAD && this.since_ms >= this.no_load_ms) {
      this.state = ARC_PILOT;
      signals[AT.true_V] = this.pilot_V;
    }
    if (this.state === ARC_NO_LOAD || this.since_ms < this.strike_ms || this.fails !== 0) return;
    // Wholly missing metal (past the edge, over a hole) gives the arc nothing to transfer to.
    if (signals[AT.standoff_mm] > this.transfer_mm || signals[AT.ahead] >= 1) return;
    this.state = ARC_BURNING;
    this.starts++;
    this.off_wait_ms = 0;
    this.stretched_ms = 0;
    signals[AT.feed_V] = 0;
    signals[AT.excess] = 1;
    signals[AT.missing] = signals[AT.ahead];
    this.voltage(signals);
  }

  private burn(signals: Float64Array, call: number): void {
    this.on_ms++;
    const slow = Math.max(-1, 1 - signals[AT.feed_mm_s] * this.per_nominal);
    const feed_V = signals[AT.feed_V] + this.feed_share * (this.feed_effect_V * slow - signals[AT.feed_V]);
    const missing = signals[AT.missing] + this.front_share * (signals[AT.ahead] - signals[AT.missing]);
    signals[AT.feed_V] = feed_V > TINY || feed_V < -TINY ? feed_V : 0;
    signals[AT.missing] = missing > TINY ? missing : 0;
    this.voltage(signals);
    this.stretched_ms = signals[AT.length_mm] > this.reach_mm ? this.stretched_ms + 1 : 0;
    this.off_wait_ms = call === 0 ? this.off_wait_ms + 1 : 0;
    if (this.stretched_ms > this.reach_ms || this.off_wait_ms > this.off_ms || this.goes_out !== 0) {
      this.ready = call === 0 ? 1 : this.restrikes;
      this.goOut(signals);
    }
  }

  private voltage(signals: Float64Array): void {
    const added_V = signals[AT.feed_V] + this.crossing_V * signals[AT.missing];
    const reached_mm = signals[AT.standoff_mm] + signals[AT.beyond_mm] + added_V * this.per_slope;
    const length_mm = Math.max(0, reached_mm);
    signals[AT.length_mm] = length_mm;
    let counted_mm = length_mm;
    const excess_mm = length_mm - this.roll_from_mm;
    if (excess_mm > 0) counted_mm = this.roll_from_mm + excess_mm / (1 + excess_mm * this.per_roll);
    let volts = this.cut_V + this.slope * (counted_mm - this.cut_mm);
    volts += this.wear_V_per_start * this.starts + this.wear_V_per_ms * this.on_ms;
    const excess = signals[AT.excess];
    if (excess > 0) {
      volts += excess * (this.excess_V + this.spatter_V * this.spatter.gaussian());
      signals[AT.excess] = excess > 1e-4 ? excess * this.excess_keep : 0;
    }
    signals[AT.true_V] = Math.max(0, volts);
  }

  private goOut(signals: Float64Array): void {
    this.state = ARC_OUT;
    signals[AT.length_mm] = 0;
    signals[AT.missing] = 0;
    const volts = signals[AT.true_V];
    signals[AT.true_V] = volts > 1e-6 ? volts * this.fall_keep : 0;
  }
}
