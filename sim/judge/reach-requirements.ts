import { MODE_FOLLOW, MODE_HOLD, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import { OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';
import { ROUNDING_STEPS, ZLimits } from './z-tools.js';

/** Requirement 6: travel. Above the take-over there is no room at all, so only a breach there is a margin. */
export class ZTravel extends Requirement {
  readonly name = 'z-travel';
  readonly number = 6;
  readonly statement = 'Z stays between where the box took it over and travel_mm below that';
  readonly unit = 'mm';
  readonly checked_unit = 'ms';
  private readonly z: ZLimits;
  private readonly travel_steps: number;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    this.travel_steps = context.parameters.travel_mm * this.z.steps_per_mm;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if ((s.digital_outputs[i] & OUTPUT_Z_OWNED) === 0) continue;
      this.checked += s.from[i + 1] - s.from[i];
      const room = s.z_low[i] - s.z_taken[i] + this.travel_steps;
      this.note(room / this.z.steps_per_mm, block.first_tick + s.low_row[i]);
      const above = s.z_high[i] - s.z_taken[i];
      if (above > 0) this.note(-above / this.z.steps_per_mm, block.first_tick + s.high_row[i]);
    }
  }
}

/** Requirement 6: dive bound, from the touch-off until Z is handed back. */
export class ZDive extends Requirement {
  readonly name = 'z-dive';
  readonly number = 6;
  readonly statement = 'Z never goes further than dive_mm below the touched sheet';
  readonly unit = 'mm';
  readonly checked_unit = 'ms';
  private readonly z: ZLimits;
  private readonly dive_steps: number;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    // The bound is a whole step; a touch offset need not be one.
    this.dive_steps = context.parameters.dive_mm * this.z.steps_per_mm + 1;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if (Number.isNaN(s.z_sheet[i])) continue;
      this.checked += s.from[i + 1] - s.from[i];
      const room = s.z_low[i] - s.z_sheet[i] + this.dive_steps;
      this.note(room / this.z.steps_per_mm, block.first_tick + s.low_row[i]);
    }
  }
}

/** Requirement 6: the floor under settle, follow and hold. */
export class Floor extends Requirement {
  readonly name = 'floor';
  readonly number = 6;
  readonly statement =
    'while cutting Z stays above touched height + cut height − (floor_allowance_mm + slope_limit × path since the motion permit)';
  readonly unit = 'mm';
  readonly checked_unit = 'ms';
  private readonly z: ZLimits;
  private readonly depth_steps: number;
  private readonly slope_steps_per_mm: number;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    const { cut_height_mm, floor_allowance_mm, slope_limit } = context.parameters;
    this.depth_steps = (cut_height_mm - floor_allowance_mm) * this.z.steps_per_mm - ROUNDING_STEPS;
    this.slope_steps_per_mm = slope_limit * this.z.steps_per_mm;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const known = s.z_sheet[i] + s.path_permit[i];
      if (s.mode[i] < MODE_SETTLE || s.mode[i] > MODE_HOLD || !Number.isFinite(known)) continue;
      this.checked += s.from[i + 1] - s.from[i];
      this.rows(block, s, i);
    }
  }

  private rows(block: TraceBlock, s: Stretches, i: number): void {
    const { z_at, path_at } = s;
    const slope = this.slope_steps_per_mm;
    const end = HISTORY_ROWS + s.from[i + 1];
    let least = Number.POSITIVE_INFINITY;
    let least_at = 0;
    for (let at = HISTORY_ROWS + s.from[i]; at < end; at++) {
      const room = z_at[at] + slope * path_at[at];
      if (room < least) {
        least = room;
        least_at = at;
      }
    }
    const floor = s.z_sheet[i] + this.depth_steps + slope * s.path_permit[i];
    this.note((least - floor) / this.z.steps_per_mm, block.first_tick + least_at - HISTORY_ROWS);
  }
}

/** Rows over which a speed is taken: one step more or less is 0.13 mm/s at 400 steps a millimetre. */
const SPEED_ROWS = 20;

/** Requirement 6: the smaller downward speed while the regulator owns Z. */
export class FollowDownSpeed extends Requirement {
  readonly name = 'follow-down-speed';
  readonly number = 6;
  readonly statement = 'in follow Z goes down no faster than follow_down_mm_s (over 20 ms, give or take one step)';
  readonly unit = 'mm/s';
  readonly checked_unit = 'ms';
  private readonly most_steps: number;
  private readonly mm_s_per_step: number;
  private follow_rows = 0;

  constructor(context: RequirementContext) {
    super();
    const { follow_down_mm_s, z_steps_per_mm } = context.parameters;
    this.most_steps = (follow_down_mm_s * SPEED_ROWS * z_steps_per_mm) / 1000 + 1;
    this.mm_s_per_step = 1000 / (SPEED_ROWS * z_steps_per_mm);
  }

  watch(block: TraceBlock, s: Stretches): void {
    const z_at = s.z_at;
    for (let i = 1; i <= s.count; i++) {
      if (s.mode[i] !== MODE_FOLLOW) {
        this.follow_rows = 0;
        continue;
      }
      const from = s.from[i];
      const end = HISTORY_ROWS + s.from[i + 1];
      // Only spans that lie wholly in follow: how Z came in is for the other requirements.
      const skip = Math.max(0, SPEED_ROWS - this.follow_rows);
      let most = Number.NEGATIVE_INFINITY;
      let most_at = 0;
      for (let at = HISTORY_ROWS + from + skip; at < end; at++) {
        const down = z_at[at - SPEED_ROWS] - z_at[at];
        if (down > most) {
          most = down;
          most_at = at;
        }
      }
      this.follow_rows = Math.min(SPEED_ROWS, this.follow_rows + s.from[i + 1] - from);
      if (most === Number.NEGATIVE_INFINITY) continue;
      this.checked += s.from[i + 1] - from - skip;
      this.note((this.most_steps - most) * this.mm_s_per_step, block.first_tick + most_at - HISTORY_ROWS);
    }
  }
}
