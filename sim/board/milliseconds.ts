import { DRIVE_TRIGGER } from '../../firmware/wire/layout.js';
import type { EmulatedBoard } from './board.js';
import { Stimulus } from './stimulus.js';

const MS_ns = 1e6;
/** The surroundings' millisecond begins this long before the board's tick. */
const LEAD_ns = 25_000;

/** What the board's pins said in a millisecond. */
export interface PinMillisecond {
  /** Z steps, signed, up positive. */
  readonly z_steps: number;
  /** DRIVE_* at its end; the trigger as pulses seen in it. */
  readonly drives: number;
}

/**
 * The board a millisecond at a time, in step with its ticks: from 25 µs before one of them to 25 µs before the next. A
 * board that does not tick (its loader runs, it hangs, it starts anew) goes on by the clock.
 */
export class BoardMilliseconds implements PinMillisecond {
  readonly stimulus: Stimulus;
  z_steps = 0;
  drives = 0;
  private boundary_ns: number;

  constructor(readonly board: EmulatedBoard) {
    this.stimulus = new Stimulus(board);
    this.boundary_ns = board.now_ns + MS_ns;
  }

  /** Lets the board run to shortly before its next tick. */
  align(): void {
    const { board } = this;
    const before = board.tick.count;
    if (board.runUntil(() => board.tick.count > before, 2 * MS_ns)) {
      board.runTo(board.tick.entered_ns + MS_ns - LEAD_ns);
    }
    this.boundary_ns = board.now_ns + MS_ns;
  }

  /** The next millisecond, with these lines and steps and the readings in `stimulus.readings`. */
  advance(lines: number, x_steps: number, y_steps: number): void {
    const { board, stimulus } = this;
    const { recorder, tick } = board;
    const steps_before = recorder.z_steps;
    const edges_before = recorder.trigger_edges;
    const ticks_before = tick.count;
    stimulus.begin(lines, x_steps, y_steps);
    while (board.now_ns < this.boundary_ns && !board.dead) board.runTo(this.boundary_ns);
    this.z_steps = recorder.z_steps - steps_before;
    const pulses = recorder.trigger_edges - edges_before;
    this.drives = (board.pins.drives & ~DRIVE_TRIGGER) | (pulses > 0 ? DRIVE_TRIGGER : 0);
    this.boundary_ns = tick.count > ticks_before ? tick.entered_ns + 2 * MS_ns - LEAD_ns : this.boundary_ns + MS_ns;
  }
}
