// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_RETRACT,
  MODE_SETTLE,
  MODE_STRIKE,
} from '../../firmware/wire/codes.gen.js';
import { FLAG_ARC_OK, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { type Requirement, ROUNDING_STEPS, ZRequirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';

/** Requirements 5 and 6: when Z may go down. */
export const descentRequirements = (context: RequirementContext): Requirement[] => [
  new OutsideWindow(context),
  new DescentOnlyInFollow(context),
  new DescentAfterArcLoss(context),
];

const CUTTING = (1 << MODE_SETTLE) | (1 << MODE_FOLLOW) | (1 << MODE_HOLD);

/**
 * A voltage outside the arc window is no arc's and says nothing about the standoff. From the tick in which the box
 * measures it, Z goes down by no more than the ramp of its speed, what the backlash of a reversal held back, and
 * rounding to whole steps; below the window, where the arc seems short, Z goes no further up either.
 */
class OutsideWindow extends ZRequirement {
  readonly name = 'outside-window';
  readonly number = 5;
  readonly statement =
    'from settle to hold Z moves no further than its stopping ramp while the voltage is below the arc window, and no further down while it is above';
  readonly unit = 'mm';
  private readonly arc_low_V = this.parameters.arc_low_V;
  private readonly arc_high_V = this.parameters.arc_high_V;
  private side: -1 | 0 | 1 = 0;
  private highest = 0;
  private lowest = 0;
  private allowance_down = 0;
  private allowance_up = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((CUTTING & (1 << s.mode[i])) === 0) this.side = 0;
    else this.rows(block, s, s.from[i], s.from[i + 1]);
  }

  private rows(block: TraceBlock, s: Stretches, from: number, end: number): void {
    const { arc_low_V, arc_high_V } = this;
    const measured_V = block.measured_V;
    for (let row = from; row < end; row++) {
      const side = measured_V[row] < arc_low_V ? -1 : measured_V[row] > arc_high_V ? 1 : 0;
      if (side !== this.side) this.change(s, row, side);
      if (side === 0) continue;
      const z = s.z_at[HISTORY_ROWS + row];
      if (z > this.highest) this.highest = z;
      if (z < this.lowest) this.lowest = z;
      const down = this.allowance_down - (this.highest - z);
      const up = side < 0 ? this.allowance_up - (z - this.lowest) : down;
      this.note(Math.min(up, down) / this.z.steps_per_mm, block.first_tick + row);
    }
  }

  private change(s: Stretches, row: number, side: -1 | 0 | 1): void {
    this.side = side;
    if (side === 0) return;
    this.checked++;
    this.highest = s.z_at[HISTORY_ROWS + row - 1];
    this.lowest = this.highest;
    const rounding = this.z.backlash_steps + ROUNDING_STEPS;
    this.allowance_down = this.z.rampSteps(this.z.speedBefore_mm_s(s, row, -1)) + rounding;
    this.allowance_up = this.z.rampSteps(this.z.speedBefore_mm_s(s, row, 1)) + rounding;
  }
}

const bit = (mode: number) => 1 << mode;
/** Modes in which Z may be above pierce height, and come down to it: by a stroke of the proof. */
const STROKES = bit(MODE_LIFT) | bit(MODE_STRIKE) | bit(MODE_PIERCE);
/** Modes in which Z has no reason to go down otherwise. */
const NO_DESCENT = [MODE_LIFT, MODE_STRIKE, MODE_PIERCE, MODE_RETRACT, MODE_FAULT].map(bit).reduce((a, b) => a | b);
/** Modes in which Z may follow the carried slope down. */
const CARRIED = bit(MODE_SETTLE) | bit(MODE_HOLD);

/**
 * Outside follow Z may go down only to touch off (seek), from a stroke of the proof to pierce height, to lower to cut height,
 * and in settle and hold along the carried slope: between any two moments of a hold by no more than slope_limit × the path between them. Beside that
 * only the ramp of the speed that Z came in with, what the backlash of a reversal held back, and rounding to whole
 * steps.
 */
class DescentOnlyInFollow extends ZRequirement {
  readonly name = 'descent-only-in-follow';
  readonly number = 5;
  readonly statement =
    'outside follow Z goes down only to touch off, from a stroke to pierce height, to lower to cut height, and along the carried slope';
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';
  private readonly slope_steps_per_mm =
    this.parameters.hold_carried >= 0.5 ? this.parameters.slope_limit * this.z.steps_per_mm : 0;
  private readonly pierce_height_steps = this.parameters.pierce_height_mm * this.z.steps_per_mm;
  private readonly cut_height_steps = this.parameters.cut_height_mm * this.z.steps_per_mm;
  private highest = 0;
  private allowance = ROUNDING_STEPS;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const mode = s.mode[i];
    const carried = (CARRIED & bit(mode)) !== 0;
    if (carried || (NO_DESCENT & bit(mode)) !== 0) {
      this.checked += s.from[i + 1] - s.from[i];
      if (mode !== s.mode[i - 1]) this.enter(s, i);
      this.rows(block, s, i, carried ? this.slope_steps_per_mm : 0);
    } else if (mode === MODE_LOWER) {
      this.checked += s.from[i + 1] - s.from[i];
      const left = s.z_low[i] - s.z_sheet[i] - this.cut_height_steps + ROUNDING_STEPS;
      // Without a touch-off there is no cut height to lower to; that breaks requirement 3, not this one.
      if (!Number.isNaN(left)) this.note(left / this.z.steps_per_mm, block.first_tick + s.low_row[i]);
    }
  }

  private enter(s: Stretches, i: number): void {
    const speed_mm_s = this.z.speedBefore_mm_s(s, s.from[i], -1);
    this.highest = Number.NEGATIVE_INFINITY;
    const backlash = s.mode[i - 1] >= MODE_SETTLE ? this.z.backlash_steps : 0;
    this.allowance = this.z.rampSteps(speed_mm_s) + backlash + ROUNDING_STEPS;
  }

  private rows(block: TraceBlock, s: Stretches, i: number, slope: number): void {
    const { z_at, path_at } = s;
    const start = HISTORY_ROWS + s.from[i];
    const end = HISTORY_ROWS + s.from[i + 1];
    const strokes = (STROKES & bit(s.mode[i])) !== 0 && !Number.isNaN(s.z_sheet[i]);
    const ceiling = strokes ? s.z_sheet[i] + this.pierce_height_steps : Number.POSITIVE_INFINITY;
    let highest = this.highest;
    let most = Number.NEGATIVE_INFINITY;
    let most_at = start;
    // Row start - 1 is where Z stood when the mode began.
    for (let at = this.highest === Number.NEGATIVE_INFINITY ? start - 1 : start; at < end; at++) {
      const height = Math.min(z_at[at], ceiling) + slope * path_at[at];
      if (height > highest) highest = height;
      const drop = highest - height;
      if (drop > most) {
        most = drop;
        most_at = at;
      }
    }
    this.highest = highest;
    this.note((this.allowance - most) / this.z.steps_per_mm, block.first_tick + most_at - HISTORY_ROWS);
  }
}

/** How long the box needs to notice that the arc is out, ms: the mean, and the slope over crossing_window_ms. */
const NOTICING_MS = 30;

/**
 * Two counts. From the tick in which the box itself says that the arc is out, Z goes no further down than the ramp of
 * its speed. From the moment the arc is truly out, no further than that, plus the travel at follow_down_mm_s until the
 * box can have noticed, plus the steepest slope that it believes.
 */
class DescentAfterArcLoss extends ZRequirement {
  readonly name = 'descent-after-arc-loss';
  readonly number = 6;
  readonly statement = 'after the arc has gone out Z goes no further down than its stopping ramp';
  readonly unit = 'mm';
  private readonly follow_down_mm_s = this.parameters.follow_down_mm_s;
  private readonly slope_steps_per_mm = this.parameters.slope_limit * this.z.steps_per_mm;
  private readonly told = new Descent();
  private readonly gone = new Descent();

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const before = s.mode[i - 1];
    const was_cutting = before >= MODE_SETTLE && before <= MODE_HOLD;
    const row = s.from[i];
    // An arc that ends with the trigger, without a fault, was not lost.
    const loss = was_cutting && ((s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0 || s.fault[i] !== 0);
    if (loss && s.burning[i - 1] !== 0 && s.burning[i] === 0) this.arcGone(s, row);
    if (loss && (s.flags[i - 1] & ~s.flags[i] & FLAG_ARC_OK) !== 0) this.arcTold(s, row);
    if (s.burning[i] !== 0) this.gone.running = false;
    const mode = s.mode[i];
    if (mode < MODE_SETTLE) {
      this.gone.running = false;
      this.told.running = false;
    }
    if (mode === MODE_FOLLOW && (s.flags[i] & FLAG_ARC_OK) !== 0) this.told.running = false;
    if (this.told.running) this.rows(block, s, i, this.told, 0);
    if (this.gone.running) this.rows(block, s, i, this.gone, this.slope_steps_per_mm);
  }

  private arcTold(s: Stretches, row: number): void {
    this.checked++;
    const ramp = this.z.rampSteps(this.z.speedBefore_mm_s(s, row, -1));
    this.told.begin(s, row, ramp + this.z.backlash_steps + ROUNDING_STEPS);
  }

  private arcGone(s: Stretches, row: number): void {
    this.checked++;
    const down_mm = (this.follow_down_mm_s * NOTICING_MS) / 1000;
    const ramp = this.z.rampSteps(this.follow_down_mm_s);
    this.gone.begin(s, row, down_mm * this.z.steps_per_mm + ramp + this.z.backlash_steps + ROUNDING_STEPS);
  }

  private rows(block: TraceBlock, s: Stretches, i: number, descent: Descent, slope: number): void {
    const { z_at, path_at } = s;
    const end = HISTORY_ROWS + s.from[i + 1];
    let most = Number.NEGATIVE_INFINITY;
    let most_at = 0;
    for (let at = HISTORY_ROWS + s.from[i]; at < end; at++) {
      const down = descent.z - z_at[at] - slope * (path_at[at] - descent.path_mm);
      if (down > most) {
        most = down;
        most_at = at;
      }
    }
    this.note((descent.allowance - most) / this.z.steps_per_mm, block.first_tick + most_at - HISTORY_ROWS);
  }
}

/** A descent, measured from where it began. */
class Descent {
  running = false;
  z = 0;
  path_mm = 0;
  allowance = 0;

  begin(s: Stretches, row: number, allowance: number): void {
    this.running = true;
    this.z = s.z_at[HISTORY_ROWS + row - 1];
    this.path_mm = s.path_at[HISTORY_ROWS + row - 1];
    this.allowance = allowance;
  }
}
