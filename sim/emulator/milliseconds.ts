import { OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { EmulatedBoard } from './board.js';
import { Stimulus } from './stimulus.js';

const MS_ns = 1e6;
/** The surroundings' millisecond begins this long before the board's tick. */
const LEAD_ns = 10_000;
/** Ticks whose earliest entry tells when they are due; one that was interrupted on its way is late by a few µs. */
const LOOKED_AT = 8;
/** An entry further from its due time than this is another rhythm: the board has started again. */
const ANOTHER_ns = 20_000;

/** What the board's pins said in a millisecond. */
export interface PinMillisecond {
  /** Z steps, signed, up positive. */
  readonly z_steps: number;
  /**
   * OUTPUT_* at its end; the trigger as pulses seen in it. A pulse is two milliseconds long, one up and one down: an edge
   * down may be the second half of a pulse or the end of the train, so the train seems a millisecond longer than it is.
   */
  readonly digital_outputs: number;
  /** The trigger's pin rose, and fell. */
  readonly trigger_rose: boolean;
  readonly trigger_fell: boolean;
}

/**
 * The board a millisecond at a time, in step with its ticks: from 10 µs before one of them to 10 µs before the next. A
 * board that does not tick (its loader runs, it hangs, it starts again) goes on by the clock.
 */
export class BoardMilliseconds implements PinMillisecond {
  readonly stimulus: Stimulus;
  z_steps = 0;
  digital_outputs = 0;
  trigger_rose = false;
  trigger_fell = false;
  private boundary_ns: number;

  constructor(readonly board: EmulatedBoard) {
    this.stimulus = new Stimulus(board);
    this.boundary_ns = board.now_ns + MS_ns;
  }

  /** Lets the board run to shortly before one of its ticks. */
  align(): void {
    const { board } = this;
    const { tick } = board;
    let phase_ns = Number.POSITIVE_INFINITY;
    for (let n = 0; n < LOOKED_AT; n++) {
      const before = tick.count;
      if (!board.runUntil(() => tick.count > before, 2 * MS_ns)) break;
      phase_ns = Math.min(phase_ns, tick.entered_ns - n * MS_ns);
    }
    if (Number.isFinite(phase_ns)) board.runTo(phase_ns + LOOKED_AT * MS_ns - LEAD_ns);
    this.boundary_ns = board.now_ns + MS_ns;
  }

  /** The next millisecond, with these lines and steps and the readings in `stimulus.readings`. */
  advance(digital_inputs: number, x_steps: number, y_steps: number): void {
    const { board, stimulus } = this;
    const { recorder, tick } = board;
    const steps_before = recorder.z_steps;
    const rises_before = recorder.trigger_rises;
    const falls_before = recorder.trigger_falls;
    const ticks_before = tick.count;
    stimulus.begin(digital_inputs, x_steps, y_steps);
    while (!board.runTo(this.boundary_ns) && !board.dead) {
      // Something else wanted the run to end: it goes on.
    }
    this.z_steps = recorder.z_steps - steps_before;
    this.trigger_rose = recorder.trigger_rises !== rises_before;
    this.trigger_fell = recorder.trigger_falls !== falls_before;
    const pulses = this.trigger_rose || this.trigger_fell;
    this.digital_outputs = (board.pins.digital_outputs & ~OUTPUT_TRIGGER) | (pulses ? OUTPUT_TRIGGER : 0);
    const due_ns = this.boundary_ns - MS_ns + LEAD_ns;
    const off_ns = tick.count > ticks_before ? tick.entered_ns - due_ns : 0;
    this.boundary_ns += MS_ns + (Math.abs(off_ns) > ANOTHER_ns ? off_ns : 0);
  }
}
