/** Ten-minute period of the duty cycle, s (IEC 60974-1, seen: ten-minute period). */
const PERIOD_S = 600;
const TICKS_PER_S = 1000;

/** Arc time in the busiest ten minutes, counted in whole seconds of the run. */
export class DutyMeter {
  private readonly ticks = new Uint16Array(PERIOD_S);
  private second = -1;
  private sum = 0;
  private busiest = 0;

  /** `length` ticks of arc from `tick` on; ticks only ever go forward. */
  add(tick: number, length: number): void {
    while (length > 0) {
      const second = Math.floor(tick / TICKS_PER_S);
      this.advance(second);
      const left = (second + 1) * TICKS_PER_S - tick;
      const part = Math.min(left, length);
      this.ticks[second % PERIOD_S] += part;
      this.sum += part;
      if (this.sum > this.busiest) this.busiest = this.sum;
      tick += part;
      length -= part;
    }
  }

  /** Share of ten minutes, 0…1. */
  share(): number {
    return this.busiest / (PERIOD_S * TICKS_PER_S);
  }

  private advance(second: number): void {
    if (second - this.second >= PERIOD_S) {
      this.ticks.fill(0);
      this.sum = 0;
      this.second = second;
      return;
    }
    while (this.second < second) {
      this.second++;
      const place = this.second % PERIOD_S;
      this.sum -= this.ticks[place];
      this.ticks[place] = 0;
    }
  }
}
