import { MODE_FOLLOW, MODE_HOLD, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';
import { ROUNDING_STEPS, ZLimits } from './z-tools.js';

const CUTTING = (1 << MODE_SETTLE) | (1 << MODE_FOLLOW) | (1 << MODE_HOLD);

/**
 * Requirement 5: a voltage outside the arc window is no arc's and says nothing about the standoff. From the tick in which the
 * box sees it, Z goes down by no more than the ramp of the speed that it has, what the reversal's play kept back, and
 * rounding to whole steps; below the window, where the arc seems short, Z goes no further up either.
 */
export class OutsideWindow extends Requirement {
  readonly name = 'outside-window';
  readonly number = 5;
  readonly statement =
    'in settle, follow and hold Z goes no further than its stopping ramp while the voltage is below the arc window, and no further down while it is above';
  readonly unit = 'mm';
  readonly checked_unit = 'times';
  private readonly z: ZLimits;
  private readonly arc_low_V: number;
  private readonly arc_high_V: number;
  private side: -1 | 0 | 1 = 0;
  private highest = 0;
  private lowest = 0;
  private allowance_down = 0;
  private allowance_up = 0;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    this.arc_low_V = context.parameters.arc_low_V;
    this.arc_high_V = context.parameters.arc_high_V;
  }

  watch(block: TraceBlock, s: Stretches): void {
    if ((s.modes & CUTTING) === 0) {
      this.side = 0;
      return;
    }
    for (let i = 1; i <= s.count; i++) {
      if ((CUTTING & (1 << s.mode[i])) === 0) this.side = 0;
      else this.rows(block, s, s.from[i], s.from[i + 1]);
    }
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
