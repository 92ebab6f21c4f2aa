import { OUTPUT_TRIGGER, READINGS_PER_TICK } from '../../firmware/wire/layout.gen.js';
import type { EmulatedBoard } from './board.js';
import { type Alarm, pinRow } from './chip/index.js';

const MS_ns = 1e6;
/** Longest width of a step pulse; a quarter of the interval when steps come close together. */
const PULSE_ns = 5000;
const ARC_CHANNEL = pinRow('ARC_VOLTAGE').gpio - 26;
const REFERENCE_CHANNEL = pinRow('REFERENCE').gpio - 26;
/** The reference channel sees half of the converter's range. */
const REFERENCE_COUNTS = 2048;

/** Step pulses of one axis, spread evenly over a millisecond. */
class StepTrain {
  private left = 0;
  private interval_ns = 0;
  private high = false;
  private readonly edge: Alarm;

  constructor(
    private readonly board: EmulatedBoard,
    private readonly step_gpio: number,
    private readonly direction_gpio: number,
  ) {
    this.edge = board.chip.clock.createAlarm(() => this.turn());
  }

  begin(steps: number): void {
    const { pins } = this.board;
    if (this.high) pins.setLevel(this.step_gpio, false);
    this.high = false;
    this.edge.cancel();
    this.left = Math.abs(steps);
    if (this.left === 0) return;
    pins.setLevel(this.direction_gpio, steps > 0);
    this.interval_ns = MS_ns / this.left;
    this.edge.schedule(this.interval_ns / 2);
  }

  private turn(): void {
    const width_ns = Math.min(PULSE_ns, this.interval_ns / 4);
    this.high = !this.high;
    this.board.pins.setLevel(this.step_gpio, this.high);
    if (this.high) this.edge.schedule(width_ns);
    else if (--this.left > 0) this.edge.schedule(this.interval_ns - width_ns);
  }
}

/**
 * What surrounds the board, a millisecond at a time: inputs that change at its beginning, ten readings that the converter
 * takes one by one, step pulses at their times.
 */
export class Stimulus {
  /** Counts at the arc voltage's channel in the next millisecond, oldest first. */
  readonly readings = new Uint16Array(READINGS_PER_TICK);
  /** Counts at the reference's channel. */
  reference = REFERENCE_COUNTS;
  /** The converter reads 0 whatever is at its pins. */
  dead_converter = false;
  /** Milliseconds in which the converter did not sample the arc voltage ten times. */
  odd_milliseconds = 0;

  private readonly now = new Uint16Array(READINGS_PER_TICK);
  private taken = READINGS_PER_TICK;
  private readonly x: StepTrain;
  private readonly y: StepTrain;

  constructor(private readonly board: EmulatedBoard) {
    const gpio = (name: string): number => pinRow(name).gpio;
    this.x = new StepTrain(board, gpio('X_STEP'), gpio('X_DIRECTION'));
    this.y = new StepTrain(board, gpio('Y_STEP'), gpio('Y_DIRECTION'));
    board.sample = (channel) => this.sample(channel);
  }

  /** Begins a millisecond. */
  begin(digital_inputs: number, x_steps: number, y_steps: number): void {
    if (this.taken !== READINGS_PER_TICK) this.odd_milliseconds++;
    this.taken = 0;
    this.now.set(this.readings);
    this.board.pins.setLines(digital_inputs);
    this.x.begin(x_steps);
    this.y.begin(y_steps);
  }

  private sample(channel: number): number {
    if (this.dead_converter) return 0;
    if (channel === REFERENCE_CHANNEL) return this.reference;
    if (channel !== ARC_CHANNEL) return 0;
    const place = Math.min(this.taken, READINGS_PER_TICK - 1);
    this.taken++;
    return this.now[place];
  }
}

/** A millisecond here begins this long before the board's tick. */
const LEAD_ns = 10_000;
/** Ticks to look at: the earliest entry tells when they are due, because an interrupt can delay one by a few µs. */
const LOOKED_AT = 8;
/** An entry that is off by more than this means that the board has started again. */
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
 * board that does not tick (in its loader, hung, starting) is run by the clock.
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

  /** The next millisecond, with these inputs and steps and the readings in `stimulus.readings`. */
  advance(digital_inputs: number, x_steps: number, y_steps: number): void {
    const { board, stimulus } = this;
    const { recorder, tick } = board;
    const steps_before = recorder.z_steps;
    const rises_before = recorder.trigger_rises;
    const falls_before = recorder.trigger_falls;
    const ticks_before = tick.count;
    stimulus.begin(digital_inputs, x_steps, y_steps);
    while (!board.runTo(this.boundary_ns) && !board.dead) {
      // Something else ended the run: go on.
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
