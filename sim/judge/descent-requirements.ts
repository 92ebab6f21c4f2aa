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
import { Requirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';
import { ROUNDING_STEPS, ZLimits } from './z-tools.js';

const bit = (mode: number) => 1 << mode;
/** Modes that Z has no reason to go down in. */
const NO_DESCENT = [MODE_LIFT, MODE_STRIKE, MODE_PIERCE, MODE_RETRACT, MODE_FAULT].map(bit).reduce((a, b) => a | b);
/** Modes in which Z may go down along the carried slope. */
const CARRIED = bit(MODE_SETTLE) | bit(MODE_HOLD);

/**
 * Requirement 5, first sentence, and requirement 6 on holds. Down travel outside follow may come only from the approach (seek),
 * from lowering to cut height, and in settle and hold from the carried slope: for any two moments of a hold Z
 * has come down between them by no more than slope_limit × the path between them. Beside that only the ramp of
 * the speed that Z came in with, what the reversal's play kept back, and rounding to whole steps.
 */
export class DescentOnlyInFollow extends Requirement {
  readonly name = 'descent-only-in-follow';
  readonly number = 5;
  readonly statement =
    'the voltage error moves Z down only in follow: elsewhere Z goes down only to touch off, to lower to cut height and along the carried slope';
  readonly unit = 'mm';
  readonly checked_unit = 'ms';
  private readonly z: ZLimits;
  private readonly slope_steps_per_mm: number;
  private readonly cut_height_steps: number;
  private highest = 0;
  private allowance = ROUNDING_STEPS;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    const { hold_carried, slope_limit, cut_height_mm } = context.parameters;
    this.slope_steps_per_mm = hold_carried >= 0.5 ? slope_limit * this.z.steps_per_mm : 0;
    this.cut_height_steps = cut_height_mm * this.z.steps_per_mm;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const mode = s.mode[i];
      const carried = (CARRIED & bit(mode)) !== 0;
      if (carried || (NO_DESCENT & bit(mode)) !== 0) {
        this.checked += s.from[i + 1] - s.from[i];
        if (mode !== s.mode[i - 1]) this.enter(s, i);
        this.rows(block, s, i, carried ? this.slope_steps_per_mm : 0);
      } else if (mode === MODE_LOWER) {
        this.checked += s.from[i + 1] - s.from[i];
        const room = s.z_low[i] - s.z_sheet[i] - this.cut_height_steps + ROUNDING_STEPS;
        // Lowering without a touch-off has no cut height to lower to; that is a break of requirement 3, not of this one.
        if (!Number.isNaN(room)) this.note(room / this.z.steps_per_mm, block.first_tick + s.low_row[i]);
      }
    }
  }

  private enter(s: Stretches, i: number): void {
    const speed_mm_s = this.z.speedBefore_mm_s(s, s.from[i], -1);
    this.highest = Number.NEGATIVE_INFINITY;
    const play = s.mode[i - 1] >= MODE_SETTLE ? this.z.backlash_steps : 0;
    this.allowance = this.z.rampSteps(speed_mm_s) + play + ROUNDING_STEPS;
  }

  private rows(block: TraceBlock, s: Stretches, i: number, slope: number): void {
    const { z_at, path_at } = s;
    const start = HISTORY_ROWS + s.from[i];
    const end = HISTORY_ROWS + s.from[i + 1];
    let highest = this.highest;
    let most = Number.NEGATIVE_INFINITY;
    let most_at = start;
    // Row start - 1 is where Z stood when the mode began.
    for (let at = this.highest === Number.NEGATIVE_INFINITY ? start - 1 : start; at < end; at++) {
      const height = z_at[at] + slope * path_at[at];
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

/** How long the box needs to see that an arc has gone, and to let go: the mean and the slope over crossing_window_ms. */
const SEEING_MS = 30;

/**
 * Requirement 6, last sentence. Two counts: from the tick in which the box itself says that the arc has gone, Z goes no
 * further down than the ramp of its speed; and from the moment the arc has really gone, no further than that plus
 * what it did at follow_down_mm_s until the box can have seen it and along the steepest slope that is believed.
 */
export class DescentAfterArcLoss extends Requirement {
  readonly name = 'descent-after-arc-loss';
  readonly number = 6;
  readonly statement = 'after the arc has gone Z goes no further down than its stopping ramp';
  readonly unit = 'mm';
  readonly checked_unit = 'times';
  private readonly z: ZLimits;
  private readonly follow_down_mm_s: number;
  private readonly slope_steps_per_mm: number;
  private readonly told = new Descent();
  private readonly gone = new Descent();

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    this.follow_down_mm_s = context.parameters.follow_down_mm_s;
    this.slope_steps_per_mm = context.parameters.slope_limit * this.z.steps_per_mm;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const before = s.mode[i - 1];
      const was_cutting = before >= MODE_SETTLE && before <= MODE_HOLD;
      const row = s.from[i];
      // An arc that ends because the trigger went off, without a fault, was not lost.
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
  }

  private arcTold(s: Stretches, row: number): void {
    this.checked++;
    const ramp = this.z.rampSteps(this.z.speedBefore_mm_s(s, row, -1));
    this.told.begin(s, row, ramp + this.z.backlash_steps + ROUNDING_STEPS);
  }

  private arcGone(s: Stretches, row: number): void {
    this.checked++;
    const down_mm = (this.follow_down_mm_s * SEEING_MS) / 1000;
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

/** A descent that is being watched from where it began. */
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
