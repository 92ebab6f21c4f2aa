import { TICKS_PER_S } from '../base/index.js';
import type { TraceBlock, TraceSink } from '../run/trace/index.js';

/** When the box changed its mode or its stage, s from power-up. */
export class Moments implements TraceSink {
  readonly at_s: number[] = [];
  private before = -1;

  block({ mode, stage, count, first_tick }: TraceBlock): void {
    for (let row = 0; row < count; row++) {
      const now = mode[row] * 16 + stage[row];
      if (now !== this.before) this.at_s.push((first_tick + row) / TICKS_PER_S);
      this.before = now;
    }
  }
}
