// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { MODE_FOLLOW, MODE_HOLD, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement, ZRequirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';

/** Requirement 6: how fast Z moves. */
export const speedRequirements = (context: RequirementContext): Requirement[] => [
  new ZVelocity(context),
  new ZAcceleration(context),
  new ZFollowsCommand(context),
  new FollowDownSpeed(context),
];

/** Over 20 rows one step is 0.13 mm/s at 400 steps a millimetre. */
const LONG_ROWS = 20;
const SHORT_ROWS = [1, 2, 8];
/** Rows that two of the short spans reach back. */
const SHORT_REACH = 2 * 8;

/** At a whole step the f32 sum of the travel may round the other way, by some millionths of a step. */
const F32_STEPS = 0.001;

/** True if Z has not moved in the block, nor as far back as the spans reach. */
function still(s: Stretches): boolean {
  const z = s.z_at[HISTORY_ROWS];
  for (let at = HISTORY_ROWS - 2 * LONG_ROWS; at < HISTORY_ROWS; at++) if (s.z_at[at] !== z) return false;
  for (let i = 1; i <= s.count; i++) if (s.z_low[i] !== z || s.z_high[i] !== z) return false;
  return true;
}

/**
 * Steps are whole, so the travel over any time differs from the commanded one by less than a step. Measured over one
 * tick (a burst) and over 20 ms (a steady excess).
 */
class ZVelocity extends ZRequirement {
  readonly name = 'z-velocity';
  readonly number = 6;
  readonly statement = 'Z is never faster than z_velocity_mm_s (over a tick and over 20 ms, to a step)';
  readonly unit = 'mm/s';
  override readonly checked_unit = 'ms';

  override watch(block: TraceBlock, s: Stretches): void {
    this.checked += block.count;
    if (still(s)) {
      this.note(this.z.velocity_mm_s, block.first_tick);
      return;
    }
    this.span(block, s, 1);
    this.span(block, s, LONG_ROWS);
  }

  private span(block: TraceBlock, { z_at }: Stretches, rows: number): void {
    const end = HISTORY_ROWS + block.count;
    let most = 0;
    let most_at = HISTORY_ROWS;
    for (let at = HISTORY_ROWS; at < end; at++) {
      const travel = Math.abs(z_at[at] - z_at[at - rows]);
      if (travel > most) {
        most = travel;
        most_at = at;
      }
    }
    const { velocity_mm_s, steps_per_mm } = this.z;
    const allowed = (velocity_mm_s * rows * steps_per_mm) / 1000 + 1 + F32_STEPS;
    const margin = ((allowed - most) * 1000) / (rows * steps_per_mm);
    this.note(Math.min(margin, velocity_mm_s), block.first_tick + most_at - HISTORY_ROWS);
  }
}

/** Whole steps: the difference of two travels is off by less than three, also where Z reverses. */
const ROUNDING = 3;

/**
 * Acceleration is the change of travel from one span to the next of the same length. Over 20 ms it is measured
 * everywhere: there the backlash of a reversal (held back before, released after) adds up to twice its width. Outside
 * settle, follow and hold it is also measured over 1 and 2 ms, which show a jerk, and over 8 ms, which show a ramp a
 * little too steep. In those modes Z comes out of the backlash with the speed that the command has reached meanwhile,
 * so the command itself is judged, tick by tick.
 */
class ZAcceleration extends ZRequirement {
  readonly name = 'z-acceleration';
  readonly number = 6;
  readonly statement =
    'the acceleration of Z never exceeds z_acceleration_mm_s2 (steps over 1, 2, 8 and 20 ms, and the commanded speed)';
  readonly unit = 'mm/s²';
  override readonly checked_unit = 'ms';
  private velocity_before_mm_s = Number.NaN;
  private backlash_rows = 0;

  override watch(block: TraceBlock, s: Stretches): void {
    this.checked += block.count;
    const moves = !still(s);
    if (moves) this.span(block, s, 0, block.count, LONG_ROWS, 2 * this.z.backlash_steps);
    else this.note(this.z.acceleration_mm_s2, block.first_tick);
    for (let i = 1; i <= s.count; i++) this.short(block, s, i, moves);
    this.command(block);
  }

  private short(block: TraceBlock, s: Stretches, i: number, moves: boolean): void {
    const from = s.from[i];
    const end = s.from[i + 1];
    if (s.mode[i] >= MODE_SETTLE && s.mode[i] <= MODE_HOLD) {
      this.backlash_rows = SHORT_REACH;
      return;
    }
    // The spans reach back; those that begin in a mode with backlash are left to the long ones.
    const skip = Math.min(this.backlash_rows, end - from);
    this.backlash_rows -= skip;
    if (moves) for (const rows of SHORT_ROWS) this.span(block, s, from + skip, end, rows, 0);
  }

  private span(block: TraceBlock, s: Stretches, from: number, end: number, rows: number, backlash: number): void {
    const z_at = s.z_at;
    let most = 0;
    let most_at = HISTORY_ROWS;
    for (let at = HISTORY_ROWS + from; at < HISTORY_ROWS + end; at++) {
      const change = Math.abs(z_at[at] - 2 * z_at[at - rows] + z_at[at - 2 * rows]);
      if (change > most) {
        most = change;
        most_at = at;
      }
    }
    const { acceleration_mm_s2, steps_per_mm } = this.z;
    const mm_s2_per_step = 1e6 / (rows * rows * steps_per_mm);
    const margin = (acceleration_mm_s2 / mm_s2_per_step + ROUNDING + backlash - most) * mm_s2_per_step;
    this.note(Math.min(margin, acceleration_mm_s2), block.first_tick + most_at - HISTORY_ROWS);
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
    // f32 holds a speed of 40 mm/s to 4e-6 mm/s: a ten-thousandth of the limit is no breach.
    const limit = this.z.acceleration_mm_s2;
    this.note(Math.min(limit * (1 + 1e-4) - most * 1000, limit), block.first_tick + most_row);
  }
}

/**
 * The motor gets what was commanded; else the command could keep its limits while the steps do not. A span begins again
 * where the voltage is outside the arc window: there the regulator lets go and drops what the backlash held back.
 */
class ZFollowsCommand extends ZRequirement {
  readonly name = 'z-follows-command';
  readonly number = 6;
  readonly statement =
    'in follow, with the voltage inside the arc window, the steps of 20 ms add up to the commanded speed, to the backlash of a reversal';
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';
  private readonly arc_low_V = this.parameters.arc_low_V;
  private readonly arc_high_V = this.parameters.arc_high_V;
  /** Commanded travel in steps, a ring of LONG_ROWS. */
  private readonly ring = new Float64Array(LONG_ROWS);
  private place = 0;
  private commanded = 0;
  private rows = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if (s.mode[i] === MODE_FOLLOW) this.follow(block, s, s.from[i], s.from[i + 1]);
    else this.rows = 0;
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

class FollowDownSpeed extends Requirement {
  readonly name = 'follow-down-speed';
  readonly number = 6;
  readonly statement = 'in follow Z goes down no faster than follow_down_mm_s (over 20 ms, to a step)';
  readonly unit = 'mm/s';
  override readonly checked_unit = 'ms';
  private readonly most_steps =
    (this.parameters.follow_down_mm_s * LONG_ROWS * this.parameters.z_steps_per_mm) / 1000 + 1;
  private readonly mm_s_per_step = 1000 / (LONG_ROWS * this.parameters.z_steps_per_mm);
  private follow_rows = 0;

  override watch(block: TraceBlock, s: Stretches): void {
    const z_at = s.z_at;
    for (let i = 1; i <= s.count; i++) {
      if (s.mode[i] !== MODE_FOLLOW) {
        this.follow_rows = 0;
        continue;
      }
      const from = s.from[i];
      const end = HISTORY_ROWS + s.from[i + 1];
      // Only spans that lie wholly in follow: how Z came in is for other requirements.
      const skip = Math.max(0, LONG_ROWS - this.follow_rows);
      let most = Number.NEGATIVE_INFINITY;
      let most_at = 0;
      for (let at = HISTORY_ROWS + from + skip; at < end; at++) {
        const down = z_at[at - LONG_ROWS] - z_at[at];
        if (down > most) {
          most = down;
          most_at = at;
        }
      }
      this.follow_rows = Math.min(LONG_ROWS, this.follow_rows + s.from[i + 1] - from);
      if (most === Number.NEGATIVE_INFINITY) continue;
      this.checked += s.from[i + 1] - from - skip;
      this.note((this.most_steps - most) * this.mm_s_per_step, block.first_tick + most_at - HISTORY_ROWS);
    }
  }
}
