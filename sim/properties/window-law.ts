import { MODE_FOLLOW, MODE_HOLD, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import type { TraceBlock } from '../trace/index.js';
import type { LawContext } from './context.js';
import { Law } from './law.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';
import { ROUNDING_STEPS, ZLimits } from './z-tools.js';

const CUTTING = (1 << MODE_SETTLE) | (1 << MODE_FOLLOW) | (1 << MODE_HOLD);

/**
 * Law 5: a voltage outside the arc window is no arc's and says nothing about the standoff. From the tick in which the
 * box sees it, Z goes down by no more than the ramp of the speed that it has, what the reversal's play kept back, and
 * rounding to whole steps.
 */
export class DescentOutsideWindow extends Law {
  readonly name = 'descent-outside-window';
  readonly number = 5;
  readonly statement =
    'in settle, follow and hold Z goes no further down than its stopping ramp while the voltage is outside the arc window';
  readonly unit = 'mm';
  readonly checked_unit = 'times';
  private readonly z: ZLimits;
  private readonly arc_low_V: number;
  private readonly arc_high_V: number;
  private outside = false;
  private highest = 0;
  private allowance = 0;

  constructor(context: LawContext) {
    super();
    this.z = new ZLimits(context);
    this.arc_low_V = context.parameters.arc_low_V;
    this.arc_high_V = context.parameters.arc_high_V;
  }

  watch(block: TraceBlock, s: Stretches): void {
    if ((s.modes & CUTTING) === 0) {
      this.outside = false;
      return;
    }
    for (let i = 1; i <= s.count; i++) {
      if ((CUTTING & (1 << s.mode[i])) === 0) this.outside = false;
      else this.rows(block, s, s.from[i], s.from[i + 1]);
    }
  }

  private rows(block: TraceBlock, s: Stretches, from: number, end: number): void {
    const { arc_low_V, arc_high_V } = this;
    const seen_V = block.seen_V;
    for (let row = from; row < end; row++) {
      if (seen_V[row] >= arc_low_V && seen_V[row] <= arc_high_V) {
        this.outside = false;
        continue;
      }
      if (!this.outside) this.leave(s, row);
      const z = s.z_at[HISTORY_ROWS + row];
      if (z > this.highest) this.highest = z;
      this.note((this.allowance - (this.highest - z)) / this.z.steps_per_mm, block.first_tick + row);
    }
  }

  private leave(s: Stretches, row: number): void {
    this.outside = true;
    this.checked++;
    this.highest = s.z_at[HISTORY_ROWS + row - 1];
    this.allowance = this.z.rampSteps(this.z.speedBefore_mm_s(s, row, -1)) + this.z.play_steps + ROUNDING_STEPS;
  }
}
