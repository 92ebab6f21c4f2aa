/** What the view needs from an output stream; process.stdout has it. */
export interface ScreenStream {
  readonly columns?: number;
  readonly rows?: number;
  /** False: the stream is full, wait for 'drain'. */
  write(text: string): boolean;
  on(event: 'resize' | 'drain' | 'error', listener: () => void): unknown;
  off(event: 'resize' | 'drain' | 'error', listener: () => void): unknown;
}

// DEC private modes as in xterm's control sequences: alternate screen, cursor, wrapping, synchronised update.
const ENTER = '\x1b[?1049h\x1b[?25l\x1b[?7l\x1b[2J';
const LEAVE = '\x1b[0m\x1b[?7h\x1b[?25h\x1b[?1049l';
const BEGIN_UPDATE = '\x1b[?2026h';
const END_UPDATE = '\x1b[?2026l';

/** The alternate screen of a terminal: writes only the lines that changed, gives back what was there. */
export class Screen {
  private shown: string[] = [];
  private entered = false;
  private full = false;
  private readonly drained = () => {
    this.full = false;
  };

  constructor(private readonly stream: ScreenStream) {}

  enter(): void {
    if (this.entered) return;
    this.entered = true;
    this.stream.on('drain', this.drained);
    this.stream.write(ENTER);
  }

  /** Forget what is shown, for a terminal that has been resized or cleared. */
  clear(): void {
    this.shown = [];
    if (this.entered) this.stream.write('\x1b[2J');
  }

  /** Show these lines; a slow terminal skips frames instead of queueing them. */
  draw(lines: readonly string[]): void {
    if (!this.entered || this.full) return;
    let text = '';
    for (let row = 0; row < lines.length; row++)
      if (lines[row] !== this.shown[row]) text += `\x1b[${row + 1};1H${lines[row]}`;
    if (text === '') return;
    this.shown = [...lines];
    this.full = !this.stream.write(BEGIN_UPDATE + text + END_UPDATE);
  }

  /** Give the terminal back; may be called twice. */
  leave(): void {
    if (!this.entered) return;
    this.entered = false;
    this.stream.off('drain', this.drained);
    this.stream.write(LEAVE);
  }
}
