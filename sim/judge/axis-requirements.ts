import { MODE_FOLLOW, MODE_HOLD, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';
import { ZLimits } from './z-tools.js';

const LONG_ROWS = 20;
const MIDDLE_ROWS = 8;
/** Rows that two spans of 8 ms reach back. */
const SHORT_REACH = 2 * MIDDLE_ROWS;

/** f32 sums of a tick's travel may round the other way at a whole step, some millionths of a step. */
const F32_STEPS = 0.001;

/** True if Z has not moved in the block nor as far back as the spans reach. */
function still(s: Stretches): boolean {
  const z = s.z_at[HISTORY_ROWS];
  for (let at = HISTORY_ROWS - 2 * LONG_ROWS; at < HISTORY_ROWS; at++) if (s.z_at[at] !== z) return false;
  for (let i = 1; i <= s.count; i++) if (s.z_low[i] !== z || s.z_high[i] !== z) return false;
  return true;
}

/**
 * Requirement 6: speed. Steps are whole, so the travel over any time differs from the commanded one by less than one
 * step. Taken over one tick (a burst) and over 20 ms (a steady excess: one step is 0.13 mm/s).
 */
export class ZVelocity extends Requirement {
  readonly name = 'z-velocity';
  readonly number = 6;
  readonly statement = 'Z is never faster than z_velocity_mm_s (over a tick and over 20 ms, give or take one step)';
  readonly unit = 'mm/s';
  readonly checked_unit = 'ms';
  private readonly z: ZLimits;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
  }

  watch(block: TraceBlock, s: Stretches): void {
    this.checked += block.count;
    if (still(s)) {
      this.note(this.z.velocity_mm_s, block.first_tick);
      return;
    }
    const z_at = s.z_at;
    const end = HISTORY_ROWS + block.count;
    let short = 0;
    let short_at = HISTORY_ROWS;
    let long = 0;
    let long_at = HISTORY_ROWS;
    for (let at = HISTORY_ROWS; at < end; at++) {
      const z = z_at[at];
      const step = z - z_at[at - 1];
      const size = step < 0 ? -step : step;
      if (size > short) {
        short = size;
        short_at = at;
      }
      const travel = z - z_at[at - LONG_ROWS];
      const distance = travel < 0 ? -travel : travel;
      if (distance > long) {
        long = distance;
        long_at = at;
      }
    }
    this.judge(block, short, 1, short_at);
    this.judge(block, long, LONG_ROWS, long_at);
  }

  private judge(block: TraceBlock, steps: number, rows: number, at: number): void {
    const { velocity_mm_s, steps_per_mm } = this.z;
    const most = (velocity_mm_s * rows * steps_per_mm) / 1000 + 1 + F32_STEPS;
    const margin = ((most - steps) * 1000) / (rows * steps_per_mm);
    this.note(Math.min(margin, velocity_mm_s), block.first_tick + at - HISTORY_ROWS);
  }
}

/** Whole steps: travel minus the travel just before it is off by less than three, also where Z turns round. */
const ROUNDING = 3;

/**
 * Requirement 6: acceleration, as the change of travel from one span to the next of the same length. Taken over 20 ms
 * everywhere, where the play of a reversal (kept back before, let go after) adds up to twice its width; and outside
 * settle, follow and hold over 1 and 2 ms, which see a jerk, and over 8 ms, which see a ramp that is a little too
 * hard. Inside them Z comes out of the play with the speed that the command has reached meanwhile, and the command
 * itself is judged instead, tick by tick.
 */
export class ZAcceleration extends Requirement {
  readonly name = 'z-acceleration';
  readonly number = 6;
  readonly statement =
    'Z never changes its speed by more than z_acceleration_mm_s2 allows (steps over 1, 2, 8 and 20 ms, and the commanded speed)';
  readonly unit = 'mm/s²';
  readonly checked_unit = 'ms';
  private readonly z: ZLimits;
  private velocity_before_mm_s = Number.NaN;
  private backlash_rows = 0;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
  }

  watch(block: TraceBlock, s: Stretches): void {
    this.checked += block.count;
    const moves = !still(s);
    if (moves) this.longSpans(block, s);
    else this.note(this.z.acceleration_mm_s2, block.first_tick);
    for (let i = 1; i <= s.count; i++) this.stretch(block, s, i, moves);
    this.command(block);
  }

  private longSpans(block: TraceBlock, s: Stretches): void {
    const z_at = s.z_at;
    const end = HISTORY_ROWS + block.count;
    let most = 0;
    let most_at = HISTORY_ROWS;
    for (let at = HISTORY_ROWS; at < end; at++) {
      const change = z_at[at] - 2 * z_at[at - LONG_ROWS] + z_at[at - 2 * LONG_ROWS];
      const size = change < 0 ? -change : change;
      if (size > most) {
        most = size;
        most_at = at;
      }
    }
    this.judge(block, most, LONG_ROWS, 2 * this.z.backlash_steps, most_at);
  }

  private stretch(block: TraceBlock, s: Stretches, i: number, moves: boolean): void {
    const from = s.from[i];
    const end = s.from[i + 1];
    if (s.mode[i] >= MODE_SETTLE && s.mode[i] <= MODE_HOLD) {
      this.backlash_rows = SHORT_REACH;
      return;
    }
    // The spans reach back; those that begin in a mode with play are left to the long ones.
    const skip = Math.min(this.backlash_rows, end - from);
    this.backlash_rows -= skip;
    if (moves) this.shortSpans(block, s, from + skip, end);
  }

  private shortSpans(block: TraceBlock, s: Stretches, from: number, end: number): void {
    const z_at = s.z_at;
    let one = 0;
    let one_at = HISTORY_ROWS;
    let two = 0;
    let two_at = HISTORY_ROWS;
    let eight = 0;
    let eight_at = HISTORY_ROWS;
    for (let at = HISTORY_ROWS + from; at < HISTORY_ROWS + end; at++) {
      const z = z_at[at];
      const z_2 = z_at[at - 2];
      const change_1 = Math.abs(z - 2 * z_at[at - 1] + z_2);
      const change_2 = Math.abs(z - 2 * z_2 + z_at[at - 4]);
      const change_8 = Math.abs(z - 2 * z_at[at - MIDDLE_ROWS] + z_at[at - 2 * MIDDLE_ROWS]);
      if (change_8 > eight) {
        eight = change_8;
        eight_at = at;
      }
      if (change_1 > one) {
        one = change_1;
        one_at = at;
      }
      if (change_2 > two) {
        two = change_2;
        two_at = at;
      }
    }
    this.judge(block, one, 1, 0, one_at);
    this.judge(block, two, 2, 0, two_at);
    this.judge(block, eight, MIDDLE_ROWS, 0, eight_at);
  }

  private command(block: TraceBlock): void {
    const { z_velocity_mm_s: velocity, count } = block;
    if (count === 0) return;
    let before = Number.isNaN(this.velocity_before_mm_s) ? velocity[0] : this.velocity_before_mm_s;
    let most = 0;
    let most_row = 0;
    for (let row = 0; row < count; row++) {
      const now = velocity[row];
      const change = now > before ? now - before : before - now;
      if (change > most) {
        most = change;
        most_row = row;
      }
      before = now;
    }
    this.velocity_before_mm_s = before;
    // f32 keeps a speed of 40 mm/s to 4e-6: a ten-thousandth of the limit is not a breach.
    const limit = this.z.acceleration_mm_s2;
    this.note(Math.min(limit * (1 + 1e-4) - most * 1000, limit), block.first_tick + most_row);
  }

  private judge(block: TraceBlock, steps: number, rows: number, play: number, at: number): void {
    const { acceleration_mm_s2, steps_per_mm } = this.z;
    const mm_s2_per_step = 1e6 / (rows * rows * steps_per_mm);
    const most = acceleration_mm_s2 / mm_s2_per_step + ROUNDING + play;
    this.note(Math.min((most - steps) * mm_s2_per_step, acceleration_mm_s2), block.first_tick + at - HISTORY_ROWS);
  }
}

/**
 * Requirement 6: what the motor gets is what was commanded. Over 20 ms the steps add up to the commanded speed, but for
 * the play of a reversal and rounding. Without this the command could obey its limits and the steps not. A span
 * begins again where the voltage is outside the arc window: there the regulator lets go and drops what the play held.
 */
export class ZFollowsCommand extends Requirement {
  readonly name = 'z-follows-command';
  readonly number = 6;
  readonly statement =
    'in follow, with a voltage inside the arc window, the steps of 20 ms add up to the commanded speed, but for the play of a reversal';
  readonly unit = 'mm';
  readonly checked_unit = 'ms';
  private readonly z: ZLimits;
  private readonly arc_low_V: number;
  private readonly arc_high_V: number;
  /** Commanded travel in steps, a ring of LONG_ROWS. */
  private readonly ring = new Float64Array(LONG_ROWS);
  private place = 0;
  private commanded = 0;
  private rows = 0;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    this.arc_low_V = context.parameters.arc_low_V;
    this.arc_high_V = context.parameters.arc_high_V;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if (s.mode[i] === MODE_FOLLOW) this.follow(block, s, s.from[i], s.from[i + 1]);
      else this.rows = 0;
    }
  }

  private follow(block: TraceBlock, s: Stretches, from: number, end: number): void {
    const { z_velocity_mm_s: velocity, measured_V } = block;
    const { ring, arc_low_V, arc_high_V } = this;
    const z_at = s.z_at;
    const steps_per_tick = this.z.steps_per_mm / 1000;
    let { place, commanded, rows } = this;
    let most = Number.NEGATIVE_INFINITY;
    let most_row = from;
    let judged = 0;
    for (let row = from; row < end; row++) {
      commanded += velocity[row] * steps_per_tick;
      const before = ring[place];
      ring[place] = commanded;
      place = place === LONG_ROWS - 1 ? 0 : place + 1;
      if (measured_V[row] < arc_low_V || measured_V[row] > arc_high_V) rows = 0;
      if (rows < LONG_ROWS) {
        rows++;
        continue;
      }
      judged++;
      const at = HISTORY_ROWS + row;
      const off = z_at[at] - z_at[at - LONG_ROWS] - (commanded - before);
      const size = off < 0 ? -off : off;
      if (size > most) {
        most = size;
        most_row = row;
      }
    }
    this.place = place;
    this.commanded = commanded;
    this.rows = rows;
    if (judged === 0) return;
    this.checked += judged;
    const allowed = this.z.backlash_steps + 2;
    this.note((allowed - most) / this.z.steps_per_mm, block.first_tick + most_row);
  }
}
