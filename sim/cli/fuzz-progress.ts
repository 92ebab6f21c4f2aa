import type { CampaignRecord, Span } from '../fuzz/index.js';
import { clockText, counted } from '../report/text.js';

/** One line that is written over: cases, rate, time left, what broke, the nearest miss. On a pipe it stays silent. */
export class ProgressLine {
  private readonly start_ms = Date.now();
  private shown_ms = 0;
  private done_before = -1;
  private readonly visible: boolean;

  constructor(
    private readonly stream: NodeJS.WriteStream,
    private readonly span: Span,
    wanted: boolean,
  ) {
    this.visible = wanted && stream.isTTY === true;
  }

  show({ tally, covered }: CampaignRecord): void {
    if (!this.visible) return;
    const now_ms = Date.now();
    const done = covered.reduce((sum, [from, to]) => sum + to - from, 0);
    if (this.done_before < 0) this.done_before = done;
    if (now_ms - this.shown_ms < 200) return;
    this.shown_ms = now_ms;
    const rate = (done - this.done_before) / Math.max(0.001, (now_ms - this.start_ms) / 1000);
    const whole = this.span[1] - this.span[0];
    const left_s = rate > 0 ? (whole - done) / rate : Number.NaN;
    const laws = Object.entries(tally.laws);
    const broken = laws.filter(([, law]) => law.broken > 0).length;
    const nearest = laws
      .filter(([, law]) => law.unit === 'mm' && law.worst_margin !== null)
      .sort(([, a], [, b]) => a.worst_margin! - b.worst_margin!)[0];
    const parts = [
      `${done} of ${whole} cuts`,
      `${rate.toFixed(0)}/s`,
      `${clockText(left_s)} left`,
      broken === 0 ? 'no law broken' : `${counted(broken, 'LAW', 'LAWS')} BROKEN`,
      ...(nearest ? [`nearest ${nearest[0]} ${nearest[1].worst_margin!.toFixed(3)} mm`] : []),
    ];
    const columns = this.stream.columns ?? 80;
    this.stream.write(`\r${parts.join('  ').slice(0, columns - 1)}\x1b[K`);
  }

  end(): void {
    if (this.visible && this.shown_ms > 0) this.stream.write('\r\x1b[K');
  }
}
