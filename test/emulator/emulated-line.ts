import { StandoffError } from '../../sim/base/index.js';
import type { EmulatedBoard } from '../../sim/emulator/index.js';
import type { Line } from '../../sim/link/index.js';

/** A serial line to the emulated board, in the board's own time: its bytes leave and come as the line lets them. */
export class EmulatedLine implements Line {
  readonly address: string = 'emulated';
  readonly pending = 0;
  baud = 115_200;
  onBytes: (bytes: Uint8Array) => void = () => {};
  onClosed: (reason: string) => void = () => {};
  protected readonly came: number[] = [];

  /** @param tick moves the timers of this process by a millisecond, as the board moves */
  constructor(
    readonly board: EmulatedBoard,
    private readonly tick: () => Promise<unknown>,
  ) {
    board.onByte = (byte) => this.came.push(byte);
  }

  write(bytes: Uint8Array): void {
    this.board.send(bytes);
  }

  async setSpeed(baud: number): Promise<void> {
    this.baud = baud;
  }

  async close(): Promise<void> {}

  /** A millisecond of the board and of the timers here. */
  async millisecond(): Promise<void> {
    this.board.run(1e6);
    this.deliver();
    await this.tick();
  }

  /** Hands over what has come. */
  protected deliver(): void {
    if (this.came.length > 0) this.onBytes(Uint8Array.from(this.came.splice(0)));
  }
}

/** How often the program at the port gets its turn, ns: a PC's own pace. */
const TURN_ns = 125_000;

/**
 * The board's USB port, for one program after the other, each with a line of its own. A line ends when the port goes: with
 * the box's restart, or the plug. Whoever opens it again waits until the PC has found it again.
 */
export class EmulatedUsbPort {
  private line: UsbLine | undefined;

  /** @param tick moves the timers of this process by a millisecond; it also lets its promises run */
  constructor(
    readonly board: EmulatedBoard,
    private readonly tick: (ms: number) => Promise<unknown>,
  ) {
    board.usb.onByte = (byte) => this.line?.take(byte);
    board.usb.onGone = () => {
      this.line?.onClosed('the port has gone: was the plug pulled?');
      this.line = undefined;
    };
  }

  /** @throws StandoffError `port-missing` while the PC has no such port */
  async open(): Promise<Line> {
    if (!this.board.usb.open()) throw new StandoffError('port-missing', 'there is no port', 'plug it in');
    this.line = new UsbLine(this.board);
    return this.line;
  }

  /** Lets board and program run until the work is done. */
  async through<T>(work: Promise<T>): Promise<T> {
    let ended = false;
    const end = () => {
      ended = true;
    };
    work.then(end, end);
    for (let turn = 1; !ended; turn++) {
      this.board.run(TURN_ns);
      this.line?.hand();
      await this.tick(turn % (1e6 / TURN_ns) === 0 ? 1 : 0);
    }
    return work;
  }
}

class UsbLine extends EmulatedLine {
  override readonly address = 'usb';
  readonly of_the_box = true;

  constructor(board: EmulatedBoard) {
    const { onByte } = board;
    super(board, async () => {});
    board.onByte = onByte;
  }

  take(byte: number): void {
    this.came.push(byte);
  }

  override write(bytes: Uint8Array): void {
    this.board.usb.send(bytes);
  }

  /** Hands over what has come. */
  hand(): void {
    this.deliver();
  }

  override async close(): Promise<void> {
    this.board.usb.close();
  }
}
