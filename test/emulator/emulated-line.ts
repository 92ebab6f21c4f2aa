import type { EmulatedBoard } from '../../sim/emulator/index.js';
import type { Line } from '../../sim/link/index.js';

/** A serial line to the emulated board, in the board's own time: its bytes leave and come as the line lets them. */
export class EmulatedLine implements Line {
  readonly address = 'emulated';
  readonly pending = 0;
  baud = 115_200;
  onBytes: (bytes: Uint8Array) => void = () => {};
  onClosed: (reason: string) => void = () => {};
  private readonly came: number[] = [];

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
    if (this.came.length > 0) this.onBytes(Uint8Array.from(this.came.splice(0)));
    await this.tick();
  }
}
