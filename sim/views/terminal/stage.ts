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
class Screen {
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

/** What a stage needs from an input stream; process.stdin has it. */
export interface KeyStream {
  readonly isTTY?: boolean;
  setRawMode?(raw: boolean): unknown;
  resume(): unknown;
  pause(): unknown;
  on(event: 'data', listener: (chunk: Buffer | string) => void): unknown;
  off(event: 'data', listener: (chunk: Buffer | string) => void): unknown;
}

/** What a stage needs from the process: signals from outside, and its end. */
export interface SignalSource {
  on(event: 'SIGINT' | 'SIGTERM' | 'SIGHUP' | 'exit', listener: () => void): unknown;
  off(event: 'SIGINT' | 'SIGTERM' | 'SIGHUP' | 'exit', listener: () => void): unknown;
}

/** Wall clock; injected, so that tests need not wait. */
export interface Pace {
  now_ms(): number;
  /** Calls back at a steady interval until the returned function is called. */
  every(interval_ms: number, frame: () => void): () => void;
}

const systemPace: Pace = {
  now_ms: () => performance.now(),
  every(interval_ms, frame) {
    const timer = setInterval(frame, interval_ms);
    return () => clearInterval(timer);
  },
};

export interface StageOptions {
  readonly stdin: KeyStream;
  readonly stdout: ScreenStream;
  readonly signals?: SignalSource;
  readonly pace?: Pace;
}

/** finished: what was shown came to its end; quit: the user ended it; interrupted: Ctrl-C or a signal. */
export type LiveEnd = 'finished' | 'quit' | 'interrupted';

/** What happens on a stage. Whatever one of these throws ends the show and is passed on. */
interface StagePlay {
  /** Bytes from the keyboard; Ctrl-C comes as one of them. */
  keys(bytes: string): void;
  /** Called at a steady pace. */
  frame(): void;
  /** Draws again: at the start, and when the terminal has another size. */
  resize(): void;
}

/** About 18 frames a second: smooth to the eye, and little to send over a slow line. */
const FRAME_MS = 55;

/**
 * The terminal while something live is shown on it. Whatever ends the show, the terminal is given back as it was: the
 * end of what is shown, a key, Ctrl-C, a signal, an exception, or the end of the process.
 */
export class Stage {
  readonly screen: Screen;
  readonly pace: Pace;
  private readonly signals: SignalSource;
  private settle: (end: LiveEnd) => void = () => {};
  private fail: (error: unknown) => void = () => {};

  constructor(private readonly options: StageOptions) {
    this.screen = new Screen(options.stdout);
    this.pace = options.pace ?? systemPace;
    this.signals = options.signals ?? process;
  }

  /** Ends the show. */
  end(how: LiveEnd): void {
    this.settle(how);
  }

  /** Runs until somebody ends it. Rejects with what the play throws. */
  async run(play: StagePlay): Promise<LiveEnd> {
    const { stdin, stdout } = this.options;
    const ended = new Promise<LiveEnd>((resolve, reject) => {
      this.settle = resolve;
      this.fail = reject;
    });
    const onData = (chunk: Buffer | string) => this.guarded(() => play.keys(chunk.toString()));
    const onSignal = () => this.settle('interrupted');
    const onResize = () =>
      this.guarded(() => {
        this.screen.clear();
        play.resize();
      });
    const onError = () => this.settle('quit');
    const restore = () => {
      this.screen.leave();
      if (stdin.isTTY) stdin.setRawMode?.(false);
    };
    const listen = (how: 'on' | 'off') => {
      this.signals[how]('exit', restore);
      for (const signal of SIGNALS) this.signals[how](signal, onSignal);
      stdout[how]('resize', onResize);
      stdout[how]('error', onError);
    };
    let stop = () => {};
    try {
      listen('on');
      // Only a terminal has keys; a file or a pipe on the input is left for whoever wants to read it.
      if (stdin.isTTY) {
        stdin.setRawMode?.(true);
        stdin.on('data', onData);
        stdin.resume();
      }
      this.screen.enter();
      play.resize();
      stop = this.pace.every(FRAME_MS, () => this.guarded(() => play.frame()));
      return await ended;
    } finally {
      stop();
      restore();
      if (stdin.isTTY) {
        stdin.off('data', onData);
        stdin.pause();
      }
      listen('off');
    }
  }

  private guarded(work: () => void): void {
    try {
      work();
    } catch (error) {
      this.fail(error);
    }
  }
}

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
