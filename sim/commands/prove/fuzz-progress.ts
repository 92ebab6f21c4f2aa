// Apart from fuzz.ts, which is long enough: what a campaign shows while it runs.

import { brokenIn, type CampaignRecord, nearestBound, type Span } from '../../campaign/index.js';
import { clockText, counted, fitText } from '../../views/text/index.js';

/** One line that is written over: cases, rate, time left, what broke, the least distance. On a pipe it stays silent. */
export class CampaignProgress {
  private first_ms = 0;
  private first_done = -1;
  private shown_ms = 0;
  private readonly visible: boolean;

  constructor(
    private readonly stream: Pick<NodeJS.WriteStream, 'isTTY' | 'columns' | 'write'>,
    private readonly span: Span,
    wanted: boolean,
    private readonly now_ms: () => number = Date.now,
  ) {
    this.visible = wanted && stream.isTTY === true;
  }

  show({ tally, covered }: CampaignRecord): void {
    if (!this.visible) return;
    const now_ms = this.now_ms();
    const done = covered.reduce((sum, [from, to]) => sum + to - from, 0);
    // The rate counts from the first report: what came before it was the start of the threads, or another sitting.
    if (this.first_done < 0) {
      this.first_done = done;
      this.first_ms = now_ms;
    }
    if (now_ms - this.shown_ms < 200) return;
    this.shown_ms = now_ms;
    const rate = (done - this.first_done) / Math.max(0.001, (now_ms - this.first_ms) / 1000);
    const whole = this.span[1] - this.span[0];
    const left_s = rate > 0 ? (whole - done) / rate : Number.NaN;
    const broken = brokenIn(tally).length;
    const nearest = nearestBound(tally);
    this.put([
      `${done} of ${whole} cuts`,
      `${rate > 0 ? rate.toFixed(0) : '-'}/s`,
      `${clockText(left_s)} left`,
      broken === 0 ? 'none broken' : `${counted(broken, 'REQUIREMENT', 'REQUIREMENTS')} BROKEN`,
      ...(nearest ? [`${nearest[0]} ${nearest[1].worst_margin!.toFixed(2)} mm`] : []),
    ]);
  }

  end(): void {
    if (this.visible && this.shown_ms > 0) this.stream.write('\r\x1b[K');
  }

  private put(parts: readonly string[]): void {
    this.stream.write(`\r${fitText(parts.join('  '), (this.stream.columns ?? 80) - 1)}\x1b[K`);
  }
}
