import { READINGS_PER_TICK } from '../../firmware/wire/layout.gen.js';
import type { EmulatedBoard } from './board.js';
import type { Alarm } from './clock.js';
import { pinRow } from './pins.js';

const MS_ns = 1e6;
/** Width of a step pulse, at most; a quarter of the interval when they come close. */
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
 * What surrounds the board, a millisecond at a time: lines that change at its beginning, ten readings that the converter
 * meets one after the other, step pulses at their times.
 */
export class Stimulus {
  /** Counts at the arc voltage's channel in the next millisecond, oldest first. */
  readonly readings = new Uint16Array(READINGS_PER_TICK);
  /** Counts at the reference's channel. */
  reference = REFERENCE_COUNTS;
  /** The converter gives nothing but 0, whatever its pins see. */
  dead_converter = false;
  /** Milliseconds in which the converter did not look at the arc voltage ten times. */
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

  /** From now on a millisecond's worth. */
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
    return this.now[place]!;
  }
}
