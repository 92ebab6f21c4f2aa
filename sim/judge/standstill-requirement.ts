import { OUTPUT_PERMIT } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/** The box's low-passed feed falls from 500 mm/s, the fastest cut, to the 0.5 mm/s of a table that stands in ln(1000) = 6.9 of them. */
const TIME_CONSTANTS = 7;
/** The tick in which the table stops, and the one in which the count is full. */
const COUNT_TICKS = 2;

/**
 * Requirement 7: an arc does not burn for ever where a permitted table stands. Judged by where the table truly is: what the box counts
 * of its path may be wrong.
 */
export class Standstill extends Requirement {
  readonly name = 'standstill';
  readonly number = 7;
  readonly statement =
    'an arc over a table that stands still under the motion permit loses permit and trigger within standstill_s and seven feed_filter_ms';
  readonly unit = 'ms';
  readonly checked_unit = 'ms';
  private readonly longest_ms: number;
  private x_mm = 0;
  private y_mm = 0;
  private still_ms = 0;

  constructor(context: RequirementContext) {
    super();
    const { standstill_s, feed_filter_ms } = context.parameters;
    this.longest_ms = standstill_s * 1000 + TIME_CONSTANTS * (feed_filter_ms + 1) + COUNT_TICKS;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if ((s.digital_outputs[i] & OUTPUT_PERMIT) === 0 || s.burning[i] === 0) {
        this.still_ms = 0;
        continue;
      }
      this.checked += s.from[i + 1] - s.from[i];
      this.rows(block, s.from[i], s.from[i + 1]);
    }
  }

  private rows(block: TraceBlock, from: number, end: number): void {
    const { x_mm, y_mm } = block;
    for (let row = from; row < end; row++) {
      if (x_mm[row] !== this.x_mm || y_mm[row] !== this.y_mm) {
        this.x_mm = x_mm[row];
        this.y_mm = y_mm[row];
        this.still_ms = 0;
        continue;
      }
      this.still_ms++;
      this.note(this.longest_ms - this.still_ms, block.first_tick + row);
    }
  }
}
