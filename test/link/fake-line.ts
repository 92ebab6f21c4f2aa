import { BAUD_AT_START } from '../../firmware/wire/link-rows.js';
import type { Line } from '../../sim/link/index.js';
import type { FakeBox } from './fake-box.js';

/** The plug is pulled before a piece arrives. */
export const PULL = 'pull';
/** What becomes of a piece of bytes on its way: the pieces that arrive. */
export type Fault = (bytes: Uint8Array) => readonly Uint8Array[] | typeof PULL;

export interface FakeLineOptions {
  /** Time that a piece is under way, ms; 0: it arrives before anything else happens. */
  readonly delay_ms?: number;
  readonly toBox?: Fault;
  readonly fromBox?: Fault;
  /** The plug is pulled in the middle, after so many bytes to the box, or from it. */
  readonly cut_to_box?: number;
  readonly cut_from_box?: number;
  /** The highest speed that comes through. */
  readonly most_baud?: number;
}

const CUT = 'the plug was pulled';

/** A line in memory with a FakeBox at its other end, and with whatever faults a test wants of it. */
export class FakeLine implements Line {
  readonly address = 'fake';
  readonly pending = 0;
  onBytes: (bytes: Uint8Array) => void = () => {};
  onClosed: (reason: string) => void = () => {};
  baud = BAUD_AT_START;
  closed = false;
  /** Bytes that have left this end, and that have arrived here. */
  to_box = 0;
  from_box = 0;

  constructor(
    private readonly box: FakeBox,
    readonly options: FakeLineOptions = {},
  ) {
    box.onBytes = (bytes) => {
      if (this.closed) return;
      const { baud } = box;
      const pieces = (options.fromBox ?? whole)(bytes);
      if (pieces === PULL) this.later(() => this.pull());
      else for (const piece of pieces) this.later(() => this.arrive(piece, baud));
    };
  }

  write(bytes: Uint8Array): void {
    if (this.closed) return;
    const { baud } = this;
    const pieces = (this.options.toBox ?? whole)(bytes);
    if (pieces === PULL) this.later(() => this.pull());
    else for (const piece of pieces) this.later(() => this.leave(piece, baud));
  }

  async setSpeed(baud: number): Promise<void> {
    this.baud = baud;
  }

  async close(): Promise<void> {
    this.closed = true;
  }

  /** The plug is pulled. */
  pull(): void {
    if (this.closed) return;
    this.closed = true;
    this.onClosed(CUT);
  }

  private leave(bytes: Uint8Array, baud: number): void {
    if (this.closed) return;
    const room = (this.options.cut_to_box ?? Number.POSITIVE_INFINITY) - this.to_box;
    this.to_box += bytes.length;
    this.box.receive(this.asHeard(bytes.subarray(0, Math.max(0, room)), baud, this.box.baud));
    if (bytes.length >= room) this.pull();
  }

  private arrive(bytes: Uint8Array, baud: number): void {
    if (this.closed) return;
    const room = (this.options.cut_from_box ?? Number.POSITIVE_INFINITY) - this.from_box;
    this.from_box += bytes.length;
    this.onBytes(this.asHeard(bytes.subarray(0, Math.max(0, room)), baud, this.baud));
    if (bytes.length >= room) this.pull();
  }

  /** At two speeds, or at one that the line does not bear, bytes come as others. */
  private asHeard(bytes: Uint8Array, said_baud: number, heard_baud: number): Uint8Array {
    const clear = said_baud === heard_baud && said_baud <= (this.options.most_baud ?? Number.POSITIVE_INFINITY);
    return clear ? bytes : bytes.map((byte) => byte ^ 0x5a);
  }

  private later(work: () => void): void {
    const { delay_ms = 0 } = this.options;
    if (delay_ms > 0) setTimeout(work, delay_ms);
    else queueMicrotask(work);
  }
}

const whole: Fault = (bytes) => [bytes];
