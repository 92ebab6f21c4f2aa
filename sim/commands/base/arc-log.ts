import { TICKS_PER_S } from '../../base/index.js';
import type { ArcTime } from '../../electrical/index.js';
import type { TraceBlock, TraceSink } from '../../run/trace/index.js';

/** Notes when an arc burns on the work; the pilot arc before it is not counted. */
export class ArcLog implements TraceSink {
  private readonly done: ArcTime[] = [];
  private from_tick = -1;
  private line = 0;
  private tick = 0;

  /** @param contours of the plan, with the line of their M3 */
  constructor(private readonly contours: readonly { readonly first_line: number }[]) {}

  block(block: TraceBlock): void {
    for (let row = 0; row < block.count; row++) {
      const burning = block.burning[row] !== 0;
      if (burning === this.from_tick >= 0) continue;
      if (burning) {
        this.from_tick = block.first_tick + row;
        this.line = this.contours[block.contour[row]!]?.first_line ?? block.line[row]!;
      } else {
        this.close(block.first_tick + row);
      }
    }
    this.tick = block.first_tick + block.count;
  }

  /** The arcs so far; one that still burns ends with the last tick seen. */
  arcs(): readonly ArcTime[] {
    if (this.from_tick < 0) return this.done;
    return [...this.done, this.arc(this.tick)];
  }

  private close(tick: number): void {
    this.done.push(this.arc(tick));
    this.from_tick = -1;
  }

  private arc(to_tick: number): ArcTime {
    return { from_s: this.from_tick / TICKS_PER_S, to_s: to_tick / TICKS_PER_S, line: this.line };
  }
}
