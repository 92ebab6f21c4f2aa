import { setImmediate as turn } from 'node:timers/promises';
import { PIN_ROWS, type PinRow } from '../../../firmware/ports/rp2040/board-rows.js';
import { Random, StandoffError } from '../../base/index.js';
import { type BoardOptions, EmulatedBoard } from '../../emulator/index.js';
import type { Line } from '../../link/index.js';
import type { Bench, Deed, Wire } from './bench.js';

/** How long the board runs before this process gets its turn, ns: a PC's own pace on USB. */
const TURN_ns = 125_000;
const RANGE_counts = 4095;
/** 47 kohm and 100 µF. */
const RC_ns = 4.7e9;
/** What an open pin of the converter reads, and the noise on every reading, counts: far from what a wired box has. */
const FLOATING = { arc: 500, reference: 700 };
const NOISE_counts = 0.7;

/** A defect of the board, for who wants to see that a step finds it. */
export interface PlantedDefect {
  /** Changes the wires that the board has, by those that were meant. */
  readonly wires?: (wires: readonly Wire[]) => readonly Wire[];
  /** Inputs that have lost the resistor in the chip, and read what they like. */
  readonly floating?: readonly string[];
  /** Changes the counts that the converter gives; `exact` has its fraction. */
  readonly convert?: (exact: number) => number;
  /** Done with the board before it starts. */
  readonly board?: (board: EmulatedBoard) => void;
  /** Changes bytes from the board; undefined loses them. */
  readonly line?: (bytes: Uint8Array, baud: number) => Uint8Array | undefined;
  /** Whether this pulse of Z_STEP, counted from 1, does not get through its jumpers. */
  readonly loses?: (pulse: number) => boolean;
  /** What the host's clock makes of a millisecond of the box. */
  readonly host_rate?: number;
  /** Done in place of power off and on. */
  readonly cable?: (board: EmulatedBoard) => void;
}

const gpioOf = (name: string): number => PIN_ROWS.find((row) => row.name === name)!.gpio;

interface Appointment {
  readonly at_ns: number;
  readonly keep: () => void;
}

/** An emulated board, and somebody who does with it at once whatever is asked, for a bring-up without a board. */
export class EmulatedBench implements Bench {
  readonly kind = 'emulated';
  readonly address = 'emulated';
  readonly patience_ms = 4000;
  private line: BenchLine | undefined;
  private wires: readonly Wire[] = [];
  private readonly random = new Random(1);
  private appointments: Appointment[] = [];
  private passed_ns = 0;
  private ended = false;
  private pulses = 0;
  private running: Promise<void> | undefined;
  /** Voltage behind the resistor, counts, and when it was that. */
  private ramp = 0;
  private ramp_ns = 0;

  private constructor(
    readonly board: EmulatedBoard,
    readonly way: Bench['way'],
    private readonly defect: PlantedDefect,
  ) {
    const { recorder } = board;
    const edge = recorder.edge.bind(recorder);
    recorder.edge = (gpio, high) => {
      edge(gpio, high);
      const row = PIN_ROWS.find((each) => each.gpio === gpio);
      if (row) this.outputTurned(row.name, high);
    };
    board.sample = (channel) => this.sample(channel);
    const port = way === 'usb' ? board.usb : board;
    port.onByte = (byte) => this.line?.take(byte);
    board.usb.onGone = () => {
      if (way === 'usb') this.line?.end();
    };
    this.arrange([]);
    defect.board?.(board);
    if (way === 'usb') board.usb.plug();
  }

  /** Makes a board and switches it on. @throws StandoffError `emulator-missing`, `image-size`, `flash-size` */
  static async start(
    contents: BoardOptions,
    way: Bench['way'] = 'usb',
    defect: PlantedDefect = {},
  ): Promise<EmulatedBench> {
    const bench = new EmulatedBench(await EmulatedBoard.create(contents), way, defect);
    bench.running = bench.run();
    return bench;
  }

  /** The board's time goes on while this process has its turns. */
  private async run(): Promise<void> {
    while (!this.ended) {
      this.board.run(TURN_ns);
      this.passed_ns += TURN_ns;
      const due = this.appointments.filter(({ at_ns }) => at_ns <= this.passed_ns);
      this.appointments = this.appointments.filter(({ at_ns }) => at_ns > this.passed_ns);
      for (const { keep } of due) keep();
      this.line?.hand();
      await turn();
    }
  }

  /** @throws what went wrong in the emulator */
  async close(): Promise<void> {
    this.ended = true;
    await this.running;
  }

  now_ms(): number {
    return (this.passed_ns * (this.defect.host_rate ?? 1)) / 1e6;
  }

  pause(ms: number): Promise<void> {
    return new Promise((resolve) => this.after(ms, resolve));
  }

  async open(): Promise<Line> {
    if (this.board.dead || (this.way === 'usb' && !this.board.usb.open())) {
      throw new StandoffError('port-missing', 'there is no port', 'plug it in');
    }
    this.line = new BenchLine(this.board, this.way, this.defect);
    return this.line;
  }

  async deed(deed: Deed): Promise<boolean> {
    if (deed.kind === 'wires') this.arrange(this.defect.wires?.(deed.wires) ?? deed.wires);
    else this.after(this.random.between(100, 400), () => this.pull());
    return true;
  }

  private after(ms: number, keep: () => void): void {
    this.appointments.push({ at_ns: this.passed_ns + 1e6 * ms, keep });
  }

  private pull(): void {
    const { board, defect } = this;
    if (defect.cable) {
      defect.cable(board);
      return;
    }
    board.powerCut();
    this.after(300, () => board.powerUp());
  }

  private arrange(wires: readonly Wire[]): void {
    this.settleRamp();
    this.wires = wires;
    for (const row of PIN_ROWS) if (row.direction === 'in') this.board.pins.setLevel(row.gpio, this.levelOf(row));
  }

  private levelOf({ name, pull }: PinRow): boolean {
    const wire = this.wires.find(({ to, rc }) => to === name && !rc);
    if (wire === undefined) return (pull === 'up') !== (this.defect.floating?.includes(name) ?? false);
    return wire.from === '0 V' || wire.from === '3.3 V' ? wire.from === '3.3 V' : this.board.pins.isHigh(wire.from);
  }

  private outputTurned(name: string, high: boolean): void {
    if (name === 'Z_STEP' && high) this.pulses++;
    if (name === 'Z_STEP' && this.defect.loses?.(this.pulses)) return;
    for (const { from, to } of this.wires) {
      if (from === name) this.board.pins.setLevel(gpioOf(to), high);
    }
  }

  /** The voltage as it is now, by the wire until now; without one the capacitor is taken out empty. */
  private settleRamp(): void {
    const wire = this.wires.find(({ rc }) => rc);
    const goal = wire?.from === '3.3 V' ? RANGE_counts : 0;
    this.ramp = wire ? goal + (this.ramp - goal) * Math.exp((this.ramp_ns - this.board.now_ns) / RC_ns) : 0;
    this.ramp_ns = this.board.now_ns;
  }

  private sample(channel: number): number {
    if (channel !== 0) return FLOATING.reference;
    if (!this.wires.some(({ rc }) => rc)) return FLOATING.arc;
    this.settleRamp();
    const exact = this.ramp + NOISE_counts * Math.sqrt(3) * this.random.between(-1, 1);
    return Math.min(RANGE_counts, Math.max(0, Math.round(this.defect.convert?.(exact) ?? exact)));
  }
}

/** A line to the board, in its own time. */
class BenchLine implements Line {
  readonly address = 'emulated';
  readonly pending = 0;
  readonly of_the_box: boolean;
  baud = 115_200;
  onBytes: (bytes: Uint8Array) => void = () => {};
  onClosed: (reason: string) => void = () => {};
  private readonly came: number[] = [];
  private gone = false;

  constructor(
    private readonly board: EmulatedBoard,
    private readonly way: Bench['way'],
    private readonly defect: PlantedDefect,
  ) {
    this.of_the_box = way === 'usb';
  }

  take(byte: number): void {
    this.came.push(byte);
  }

  /** Hands over what has come. */
  hand(): void {
    if (this.gone || this.came.length === 0) return;
    const bytes = Uint8Array.from(this.came.splice(0));
    const heard = this.defect.line ? this.defect.line(bytes, this.baud) : bytes;
    if (heard) this.onBytes(heard);
  }

  end(): void {
    if (this.gone) return;
    this.gone = true;
    this.onClosed('the port has gone: was the plug pulled?');
  }

  write(bytes: Uint8Array): void {
    if (this.gone || this.board.dead) return;
    if (this.way === 'usb') this.board.usb.send(bytes);
    else this.board.send(bytes);
  }

  async setSpeed(baud: number): Promise<void> {
    this.baud = baud;
  }

  async close(): Promise<void> {
    if (this.gone) return;
    this.gone = true;
    if (this.way === 'usb') this.board.usb.close();
  }
}
