import type { GPIOPin, RP2040 } from 'rp2040js';
import { PIN_ROWS, type PinRow } from '../../../firmware/ports/rp2040/board-rows.js';
import * as layout from '../../../firmware/wire/layout.gen.js';

/** Edge of an output. */
export interface Edge {
  readonly at_ns: number;
  /** Name of the pin, as in PIN_ROWS. */
  readonly pin: string;
  readonly high: boolean;
}

const NAMES = new Map(PIN_ROWS.map((row) => [row.gpio, row.name]));
const number = (name: string): number => PIN_ROWS.find((row) => row.name === name)!.gpio;
const TRIGGER = number('TRIGGER');
const Z_STEP = number('Z_STEP');
const Z_DIRECTION = number('Z_DIRECTION');
const Z_OWNED = number('Z_OWNED');

/** Places at first; doubled as they fill up. */
const FIRST = 1 << 12;

/** What the outputs did: counts since the beginning, and the last edges with their times. */
export class Recorder {
  /** Time of the board. */
  now_ns: () => number = () => 0;
  /** Rising and falling edges of the trigger pin so far. */
  trigger_rises = 0;
  trigger_falls = 0;
  /** Sum of the Z steps so far, up positive; and the number of steps given without owning Z. */
  z_steps = 0;
  foreign_steps = 0;
  /** Shortest time from a change of direction to a step, ns. */
  least_set_up_ns = Number.POSITIVE_INFINITY;

  private times = new Float64Array(FIRST);
  private marks = new Uint8Array(FIRST);
  private written = 0;
  private direction_up = false;
  private direction_ns = Number.NEGATIVE_INFINITY;
  private z_owned = false;

  /** @param most edges that are kept; older ones are overwritten */
  constructor(private readonly most = 1 << 20) {}

  edge(gpio: number, high: boolean): void {
    const at_ns = this.now_ns();
    if (this.written === this.times.length && this.written < this.most) this.grow();
    const place = this.written++ % this.most;
    this.times[place] = at_ns;
    this.marks[place] = gpio | (high ? 128 : 0);
    if (gpio === TRIGGER) {
      if (high) this.trigger_rises++;
      else this.trigger_falls++;
    } else if (gpio === Z_DIRECTION) {
      this.direction_up = high;
      this.direction_ns = at_ns;
    } else if (gpio === Z_OWNED) this.z_owned = high;
    else if (gpio === Z_STEP && high) {
      this.z_steps += this.direction_up ? 1 : -1;
      if (!this.z_owned) this.foreign_steps++;
      this.least_set_up_ns = Math.min(this.least_set_up_ns, at_ns - this.direction_ns);
    }
  }

  private grow(): void {
    const length = Math.min(this.most, 2 * this.times.length);
    const { times, marks } = this;
    this.times = new Float64Array(length);
    this.marks = new Uint8Array(length);
    this.times.set(times);
    this.marks.set(marks);
  }

  /** Edges that are kept, from this time on, oldest first; of one pin if it is named. */
  edges(from_ns = 0, pin?: string): Edge[] {
    const found: Edge[] = [];
    for (let n = Math.max(0, this.written - this.most); n < this.written; n++) {
      const at_ns = this.times[n % this.most];
      const mark = this.marks[n % this.most];
      const name = NAMES.get(mark & 127)!;
      if (at_ns >= from_ns && (pin === undefined || pin === name)) {
        found.push({ at_ns, pin: name, high: (mark & 128) !== 0 });
      }
    }
    return found;
  }
}

/** Reset value of a pad: input enabled, pulled down (datasheet 2.19.6.3). */
const PAD_AT_RESET = 0x56;
const NO_FUNCTION = 31;
const HIGH = 1;

const DIGITAL_INPUTS = layout as unknown as Readonly<Record<string, number>>;

/** Row of a pin by its name. */
export function pinRow(name: string): PinRow {
  const row = PIN_ROWS.find((candidate) => candidate.name === name);
  if (row === undefined) throw new Error(`no pin ${name}`);
  return row;
}

const OUTPUTS = PIN_ROWS.filter((row) => row.direction === 'out');
const INPUTS = PIN_ROWS.filter((row) => row.direction === 'in');
/** Input pins with the INPUT_* bit that each carries. */
const INPUT_PINS_BY_BIT = INPUTS.filter((row) => row.carries !== '').map((row) => ({
  row,
  bit: DIGITAL_INPUTS[row.carries],
}));
const OUTPUT_PINS = OUTPUTS.filter((row) => row.carries !== '').map((row) => ({
  row,
  bit: DIGITAL_INPUTS[row.carries],
}));

/**
 * The board's pins from outside: levels of inputs as they are driven, edges of outputs as they happen. The resistor
 * outside holds an output at rest that the chip does not drive.
 */
export class Pins {
  /** Levels by GPIO number. */
  private readonly input_high = new Uint8Array(30);
  private readonly output_high = new Uint8Array(30);
  private gpio: readonly GPIOPin[] = [];
  /** INPUT_* that are true at the inputs. */
  private lines_now = 0;

  constructor(private readonly recorder: Recorder) {
    for (const row of INPUTS) this.input_high[row.gpio] = row.active === 'low' ? 1 : 0;
  }

  /** Connects the pins of a chip that has just been reset. */
  attach(chip: RP2040): void {
    this.gpio = chip.gpio;
    this.losePads();
    for (const row of INPUTS) chip.gpio[row.gpio].setInputValue(this.input_high[row.gpio] === 1);
    for (const row of OUTPUTS) {
      const pin = chip.gpio[row.gpio];
      this.take(row, false);
      pin.addListener((state) => this.take(row, (state as number) === HIGH));
    }
  }

  /** IO_BANK0 is put into reset: no pin has a function. */
  loseFunctions(): void {
    for (const pin of this.gpio) {
      pin.ctrl = NO_FUNCTION;
      pin.checkForUpdates();
    }
  }

  losePads(): void {
    for (const pin of this.gpio) pin.padValue = PAD_AT_RESET;
  }

  /** Without power nothing drives an output. */
  rest(): void {
    for (const row of OUTPUTS) this.take(row, false);
  }

  private take(row: PinRow, high: boolean): void {
    if ((this.output_high[row.gpio] === 1) === high) return;
    this.output_high[row.gpio] = high ? 1 : 0;
    this.recorder.edge(row.gpio, high);
  }

  /** Drives an input to a level. */
  setLevel(gpio: number, high: boolean): void {
    if ((this.input_high[gpio] === 1) === high) return;
    this.input_high[gpio] = high ? 1 : 0;
    this.gpio[gpio]?.setInputValue(high);
  }

  /** Makes an input true or false, whichever level that is. */
  set(name: string, on: boolean): void {
    const row = pinRow(name);
    this.setLevel(row.gpio, on === (row.active === 'high'));
  }

  /** Sets all inputs that carry an INPUT_* bit. */
  setLines(digital_inputs: number): void {
    const changed = digital_inputs ^ this.lines_now;
    if (changed === 0) return;
    this.lines_now = digital_inputs;
    for (const { row, bit } of INPUT_PINS_BY_BIT) {
      if ((changed & bit) !== 0) this.setLevel(row.gpio, ((digital_inputs & bit) !== 0) === (row.active === 'high'));
    }
  }

  /** Level of an output. */
  isHigh(name: string): boolean {
    return this.output_high[pinRow(name).gpio] === 1;
  }

  /** OUTPUT_* at the outputs now; for the trigger its level, which toggles. */
  get digital_outputs(): number {
    let digital_outputs = 0;
    for (const { row, bit } of OUTPUT_PINS) {
      if ((this.output_high[row.gpio] === 1) === (row.active === 'high')) digital_outputs |= bit;
    }
    return digital_outputs;
  }
}
