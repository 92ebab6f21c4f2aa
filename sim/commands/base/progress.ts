import { asciiText, clockText, fitText, wrapText } from '../../views/text/index.js';

/** How far a transfer has come. */
export interface Progress {
  /** What is going on, such as `writing`. */
  readonly what: string;
  readonly done_bytes: number;
  readonly total_bytes: number;
  /** 0 as long as it is not known. */
  readonly bytes_per_s: number;
}

/** What a progress display writes to. */
export interface ProgressStream {
  readonly isTTY?: boolean | undefined;
  readonly columns?: number | undefined;
  write(text: string): unknown;
}

const LEAST_BAR = 8;
const BACK = '\r\x1b[K';

/** `writing [━━━━····] 50 %, 14.2 of 28.4 KiB, 80 KiB/s` in at most `width` characters; the bar takes what is left. */
export function progressLine(progress: Progress, width: number, unicode: boolean): string {
  const { what, done_bytes, total_bytes, bytes_per_s } = progress;
  const share = total_bytes > 0 ? Math.min(1, done_bytes / total_bytes) : 1;
  const KiB = (bytes: number) => (bytes / 1024).toFixed(1);
  const rate = bytes_per_s > 0 ? `, ${KiB(bytes_per_s)} KiB/s` : '';
  const percent = `${Math.floor(100 * share)} %`;
  const long = ` ${percent}, ${KiB(done_bytes)} of ${KiB(total_bytes)} KiB${rate}`;
  const room = (tail: string) => width - what.length - tail.length - 3;
  const tail = room(long) >= LEAST_BAR ? long : ` ${percent}`;
  const bar = Math.min(40, room(tail));
  const line =
    bar < LEAST_BAR
      ? fitText(`${what}${tail}`, width)
      : `${what} [${'━'.repeat(Math.floor(share * bar))}${'·'.repeat(bar - Math.floor(share * bar))}]${tail}`;
  return unicode ? line : asciiText(line);
}

/** On a terminal one line that moves; elsewhere a plain line at the start of each stage and for each quarter. */
export class ProgressDisplay {
  private shown = '';
  private quarter = '';

  constructor(
    private readonly stream: ProgressStream,
    private readonly style: { readonly unicode: boolean; readonly live: boolean },
  ) {}

  show(progress: Progress): void {
    if (this.style.live) {
      this.put(progressLine(progress, Math.max(20, (this.stream.columns ?? 80) - 1), this.style.unicode));
      return;
    }
    const { what, done_bytes, total_bytes } = progress;
    const quarter = Math.floor((4 * done_bytes) / Math.max(1, total_bytes));
    if (this.quarter === `${what} ${quarter}`) return;
    this.quarter = `${what} ${quarter}`;
    this.stream.write(`${what}: ${done_bytes} of ${total_bytes} bytes\n`);
  }

  /** Something of unknown length is going on. */
  stage(text: string): void {
    if (this.style.live) this.put(fitText(text, Math.max(20, (this.stream.columns ?? 80) - 1)));
    else this.stream.write(`${text}\n`);
  }

  /** A sentence, above the line that moves; on a terminal it is broken between words. */
  say(text: string): void {
    const sentence = this.style.unicode ? text : asciiText(text);
    const lines = this.stream.isTTY ? wrapText(sentence, this.stream.columns ?? 80, 2) : [sentence];
    const shown = this.style.live && this.shown !== '';
    this.stream.write(`${shown ? BACK : ''}${lines.join('\n')}\n${shown ? this.shown : ''}`);
  }

  /** The moving line has served and goes: what follows takes its place. */
  end(): void {
    if (this.style.live && this.shown !== '') this.stream.write(BACK);
    this.shown = '';
  }

  private put(line: string): void {
    if (line === this.shown) return;
    this.shown = line;
    this.stream.write(BACK + line);
  }
}

/**
 * Tells how far many equal things have come: on a terminal a line with the time left, counted from the first that was done (what came
 * before was the start of the threads); elsewhere, where asked for, a plain line at the first and at each quarter.
 * @param what they are, such as `cuts`
 */
export function countdown(what: string, how: 'line' | 'quarters' | 'silent', stream: ProgressStream = process.stderr) {
  let first_ms = 0;
  let first = 0;
  let quarter = -1;
  return {
    show(done: number, of: number): void {
      if (first === 0) [first, first_ms] = [done, Date.now()];
      const text = `${done} of ${of} ${what}`;
      const reached = Math.floor((4 * done) / of);
      if (how === 'quarters' && reached > quarter) stream.write(`${text}\n`);
      quarter = Math.max(quarter, reached);
      if (how !== 'line') return;
      const left_s = done > first ? ((Date.now() - first_ms) / 1000 / (done - first)) * (of - done) : Number.NaN;
      stream.write(`\r${fitText(`${text}  ${clockText(left_s)} left`, (stream.columns ?? 80) - 1)}\x1b[K`);
    },
    end(): void {
      if (how === 'line') stream.write(BACK);
    },
  };
}

/** Whether a line that moves is for somebody: on a terminal, unless JSON goes there. */
export const watched = (json: boolean | undefined): boolean =>
  process.stderr.isTTY === true && (json !== true || process.stdout.isTTY !== true);
