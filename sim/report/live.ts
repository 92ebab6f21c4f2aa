import { TICKS_PER_S } from '../base/index.js';
import { drawFrame } from './frame.js';
import type { ViewHistory } from './history.js';
import { type Command, commandsIn } from './keys.js';
import type { ViewScene } from './scene.js';
import { Screen, type ScreenStream } from './screen.js';
import type { DrawStyle } from './style.js';

/** The simulation as the live view drives it. */
export interface LiveSource {
  /** Simulate this many ticks (fewer at the end of the run) and hand the new rows to the history. */
  advance(ticks: number): void;
  readonly finished: boolean;
  /** Share of the program that is done, 0…1. */
  readonly progress: number;
  /** Simulated time to go, s; NaN when it is not known. */
  readonly remaining_s: number;
}

/** What the view needs from an input stream; process.stdin has it. */
export interface KeyStream {
  readonly isTTY?: boolean;
  setRawMode?(raw: boolean): unknown;
  resume(): unknown;
  pause(): unknown;
  on(event: 'data', listener: (chunk: Buffer | string) => void): unknown;
  off(event: 'data', listener: (chunk: Buffer | string) => void): unknown;
}

/** What the view needs from the process: signals from outside, and its end. */
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

export interface LiveOptions {
  readonly source: LiveSource;
  readonly history: ViewHistory;
  readonly scene: ViewScene;
  readonly style: DrawStyle;
  readonly stdin: KeyStream;
  readonly stdout: ScreenStream;
  /** Simulated seconds a wall second at the start; 0.01 to 100. Default 1. */
  readonly speed?: number;
  readonly signals?: SignalSource;
  readonly pace?: Pace;
}

/** finished: the run came to its end; quit: the user pressed q; interrupted: Ctrl-C or a signal. */
export type LiveEnd = 'finished' | 'quit' | 'interrupted';

/** What + and - step through. */
const LIVE_SPEEDS: readonly number[] = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100];

/** About 18 frames a second: smooth to the eye, and little to send over a slow line. */
const FRAME_MS = 55;
/** Of each frame at most this is spent on simulating, so that keys stay quick at any speed. */
const BUSY_MS = 40;
/** After a stall (a suspended terminal) the run goes on from where it was, it does not jump. */
const LONGEST_FRAME_MS = 250;
const CHUNK_TICKS = 250;

const systemPace: Pace = {
  now_ms: () => performance.now(),
  every(interval_ms, frame) {
    const timer = setInterval(frame, interval_ms);
    return () => clearInterval(timer);
  },
};

/**
 * The live view on a terminal: draws the run while driving it at the speed that the user chose. Whatever
 * ends it, the terminal is given back as it was: the end of the run, q, Ctrl-C, a signal, an exception, or
 * the end of the process.
 */
export class LiveView {
  private readonly screen: Screen;
  private readonly pace: Pace;
  private readonly signals: SignalSource;
  private speed: number;
  private paused = false;
  /** Ticks that are due but not whole yet, at speeds under one tick a frame. */
  private due_ticks = 0;
  private last_ms = 0;
  private settle: (end: LiveEnd) => void = () => {};
  private fail: (error: unknown) => void = () => {};

  constructor(private readonly options: LiveOptions) {
    this.screen = new Screen(options.stdout);
    this.pace = options.pace ?? systemPace;
    this.signals = options.signals ?? process;
    this.speed = options.speed ?? 1;
  }

  /** Runs until the end of the run or until the user ends it. Rejects with what the source throws. */
  async run(): Promise<LiveEnd> {
    const { stdin, stdout } = this.options;
    const ended = new Promise<LiveEnd>((resolve, reject) => {
      this.settle = resolve;
      this.fail = reject;
    });
    const onData = (chunk: Buffer | string) => {
      for (const command of commandsIn(chunk.toString())) this.guarded(() => this.obey(command));
    };
    const onSignal = () => this.settle('interrupted');
    const onResize = () => this.guarded(() => this.redraw());
    const onError = () => this.settle('quit');
    const restore = () => {
      this.screen.leave();
      if (stdin.isTTY) stdin.setRawMode?.(false);
    };
    let stop = () => {};
    try {
      this.signals.on('exit', restore);
      for (const signal of SIGNALS) this.signals.on(signal, onSignal);
      stdout.on('resize', onResize);
      stdout.on('error', onError);
      // Only a terminal has keys; a file or a pipe on the input is left for whoever wants to read it.
      if (stdin.isTTY) {
        stdin.setRawMode?.(true);
        stdin.on('data', onData);
        stdin.resume();
      }
      this.screen.enter();
      this.last_ms = this.pace.now_ms();
      this.draw();
      stop = this.pace.every(FRAME_MS, () => this.guarded(() => this.frame()));
      return await ended;
    } finally {
      stop();
      restore();
      if (stdin.isTTY) {
        stdin.off('data', onData);
        stdin.pause();
      }
      stdout.off('resize', onResize);
      stdout.off('error', onError);
      for (const signal of SIGNALS) this.signals.off(signal, onSignal);
      this.signals.off('exit', restore);
    }
  }

  private guarded(work: () => void): void {
    try {
      work();
    } catch (error) {
      this.fail(error);
    }
  }

  private frame(): void {
    const now_ms = this.pace.now_ms();
    const passed_ms = Math.min(LONGEST_FRAME_MS, now_ms - this.last_ms);
    this.last_ms = now_ms;
    if (!this.paused) {
      this.due_ticks += (passed_ms / 1000) * this.speed * TICKS_PER_S;
      this.catchUp(now_ms + BUSY_MS);
    }
    this.draw();
    if (this.options.source.finished) this.settle('finished');
  }

  private catchUp(until_ms: number): void {
    const { source } = this.options;
    while (this.due_ticks >= 1 && !source.finished) {
      const ticks = Math.min(CHUNK_TICKS, Math.floor(this.due_ticks));
      source.advance(ticks);
      this.due_ticks -= ticks;
      if (this.pace.now_ms() >= until_ms) {
        // This machine cannot go that fast; it goes as fast as it can, without a growing debt.
        this.due_ticks = 0;
      }
    }
  }

  private obey(command: Command): void {
    switch (command) {
      case 'pause':
        this.paused = !this.paused;
        break;
      case 'step':
        this.step(1);
        break;
      case 'step-ten':
        this.step(10);
        break;
      case 'faster':
        this.speed = LIVE_SPEEDS.find((speed) => speed > this.speed) ?? this.speed;
        break;
      case 'slower':
        this.speed = LIVE_SPEEDS.findLast((speed) => speed < this.speed) ?? this.speed;
        break;
      case 'quit':
        this.settle('quit');
        return;
      case 'interrupt':
        this.settle('interrupted');
        return;
    }
    this.draw();
  }

  /** A step pauses first: stepping a running picture would be lost in it. */
  private step(ticks: number): void {
    this.paused = true;
    if (!this.options.source.finished) this.options.source.advance(ticks);
  }

  private redraw(): void {
    this.screen.clear();
    this.draw();
  }

  private draw(): void {
    const { source, history, scene, style, stdout } = this.options;
    this.screen.draw(
      drawFrame(
        {
          scene,
          history,
          progress: source.progress,
          remaining_s: source.remaining_s,
          speed: this.speed,
          paused: this.paused,
        },
        { columns: stdout.columns ?? 80, rows: stdout.rows ?? 24 },
        style,
      ),
    );
  }
}

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
