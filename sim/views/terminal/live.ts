import { TICKS_PER_S } from '../../base/index.js';
import type { DrawStyle } from '../text/index.js';
import { drawFrame } from './frame.js';
import type { ViewHistory } from './history.js';
import { type LiveEnd, Stage, type StageOptions } from './stage.js';

/** What a key asks the live view to do. */
type Command = 'pause' | 'step' | 'step-ten' | 'faster' | 'slower' | 'quit' | 'interrupt';

/** Byte sequences of the keys that mean something; arrows in both cursor key modes of ECMA-48 terminals. */
const SEQUENCES: readonly (readonly [string, Command])[] = [
  ['\x1b[C', 'step-ten'],
  ['\x1bOC', 'step-ten'],
  ['\x03', 'interrupt'],
  [' ', 'pause'],
  ['p', 'pause'],
  ['s', 'step'],
  ['S', 'step'],
  ['+', 'faster'],
  ['=', 'faster'],
  ['-', 'slower'],
  ['q', 'quit'],
  ['Q', 'quit'],
];
/** Any other escape sequence: swallowed whole, so that its letters are not taken for keys. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: escape sequences begin with one
const OTHER_ESCAPE = /^\x1b(?:\[[0-9;?]*[ -/]*[@-~]|O[A-Z]|.)?/s;

/** Commands in the bytes that one read from a terminal gave, in their order; unknown keys are left out. */
function commandsIn(bytes: string): Command[] {
  const commands: Command[] = [];
  while (bytes !== '') {
    const known = SEQUENCES.find(([sequence]) => bytes.startsWith(sequence));
    if (known) commands.push(known[1]);
    const length = known?.[0].length ?? OTHER_ESCAPE.exec(bytes)?.[0].length ?? 1;
    bytes = bytes.slice(length);
  }
  return commands;
}

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

export interface LiveOptions extends StageOptions {
  readonly source: LiveSource;
  readonly history: ViewHistory;
  readonly style: DrawStyle;
  /** Simulated seconds a wall second at the start; 0.01 to 100. Default 1. */
  readonly speed?: number;
}

/** What + and - step through. */
const LIVE_SPEEDS: readonly number[] = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100];

const SLOWEST = 0.001;
/** Of each frame at most this is spent on simulating, so that keys stay quick at any speed. */
const BUSY_MS = 40;
/** After a stall (a suspended terminal) the run goes on from where it was, it does not jump. */
const LONGEST_FRAME_MS = 250;
const CHUNK_TICKS = 250;
/** Over so long the speed that this machine reaches is averaged. */
const AVERAGED_S = 1;

/** The live view on a terminal: draws the run while driving it at the speed that the user chose. */
export class LiveView {
  private readonly stage: Stage;
  private speed: number;
  private paused = false;
  /** Ticks that are due but not whole yet, at speeds under one tick a frame. */
  private due_ticks = 0;
  private last_ms = 0;
  /** Simulated seconds for one by the clock that this machine reaches; it may be less than was asked for. */
  private reached: number;

  constructor(private readonly options: LiveOptions) {
    this.stage = new Stage(options);
    this.speed = options.speed ?? 1;
    this.reached = this.speed;
  }

  /** Runs until the end of the run or until the user ends it. Rejects with what the source throws. */
  run(): Promise<LiveEnd> {
    this.last_ms = this.stage.pace.now_ms();
    return this.stage.run({
      keys: (bytes) => {
        for (const command of commandsIn(bytes)) this.obey(command);
      },
      frame: () => this.frame(),
      resize: () => this.draw(),
    });
  }

  private frame(): void {
    const now_ms = this.stage.pace.now_ms();
    const frame_ms = now_ms - this.last_ms;
    const passed_ms = Math.min(LONGEST_FRAME_MS, frame_ms);
    this.last_ms = now_ms;
    if (!this.paused) {
      this.due_ticks += (passed_ms / 1000) * this.speed * TICKS_PER_S;
      this.noteSpeed(this.catchUp(now_ms + BUSY_MS) / TICKS_PER_S, frame_ms / 1000);
    }
    this.draw();
    if (this.options.source.finished) this.stage.end('finished');
  }

  private noteSpeed(simulated_s: number, wall_s: number): void {
    if (wall_s <= 0) return;
    this.reached += (simulated_s / wall_s - this.reached) * Math.min(1, wall_s / AVERAGED_S);
  }

  /** @returns the ticks that were run */
  private catchUp(until_ms: number): number {
    const { source } = this.options;
    let run = 0;
    while (this.due_ticks >= 1 && !source.finished) {
      const ticks = Math.min(CHUNK_TICKS, Math.floor(this.due_ticks));
      source.advance(ticks);
      this.due_ticks -= ticks;
      run += ticks;
      if (this.stage.pace.now_ms() >= until_ms) {
        // This machine cannot go that fast; it goes as fast as it can, without a growing debt.
        this.due_ticks = 0;
      }
    }
    return run;
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
        this.setSpeed(LIVE_SPEEDS.find((speed) => speed > this.speed));
        break;
      case 'slower':
        this.setSpeed(LIVE_SPEEDS.findLast((speed) => speed < this.speed));
        break;
      case 'quit':
        this.stage.end('quit');
        return;
      case 'interrupt':
        this.stage.end('interrupted');
        return;
    }
    this.draw();
  }

  private setSpeed(speed = this.speed): void {
    this.speed = speed;
    this.reached = speed;
  }

  /** A step pauses first: stepping a running picture would be lost in it. */
  private step(ticks: number): void {
    this.paused = true;
    if (!this.options.source.finished) this.options.source.advance(ticks);
  }

  private draw(): void {
    const { source, history, style, stdout } = this.options;
    const remaining_s = source.remaining_s / Math.max(this.reached, SLOWEST);
    const progress = { share: source.progress, remaining_s, speed: this.speed };
    const size = { columns: stdout.columns ?? 80, rows: stdout.rows ?? 24 };
    this.stage.screen.draw(drawFrame({ history, paused: this.paused, progress }, size, style));
  }
}
