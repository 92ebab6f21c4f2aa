import { StandoffError } from '../../base/index.js';
import {
  type BoardInputs,
  type BoardWorld,
  type EmulatedBoard,
  LineServer,
  type PinMillisecond,
  runRealTime,
} from '../../emulator/index.js';
import type { PracticeTable } from './practice-table.js';

/** An emulated board in real time, with a practice table at its pins and its serial line on a TCP port. */
export class PracticeBox implements BoardWorld {
  /** Emulated time, ms. */
  now_ms = 0;
  /** OUTPUT_* of the last millisecond, the trigger as pulses seen. */
  digital_outputs = 0;
  port = 0;
  private readonly server: LineServer;

  constructor(
    readonly board: EmulatedBoard,
    readonly table: PracticeTable,
  ) {
    this.server = new LineServer(board);
  }

  /** @throws StandoffError `port-taken`, `port-refused` */
  async listen(port: number): Promise<void> {
    try {
      this.port = await this.server.listen(port);
    } catch (error) {
      const { code = 'unknown error' } = error as NodeJS.ErrnoException;
      const what = `TCP port ${port} of this computer`;
      if (code === 'EADDRINUSE') {
        throw new StandoffError('port-taken', `${what} is taken`, 'give another one with --listen; 0 is any free one');
      }
      throw new StandoffError('port-refused', `${what} cannot be used (${code})`, 'give another one with --listen');
    }
  }

  /** Runs until the signal says stop. */
  async run(signal: AbortSignal): Promise<void> {
    await runRealTime(this.board, this, { signal, onMillisecond: () => this.server.flush() });
  }

  /** Gives the port back. */
  close(): Promise<void> {
    return this.server.close();
  }

  /** Power off and on: memory and watchdog forget, the flash does not. */
  powerCycle(): void {
    this.board.powerCut();
    this.board.powerUp();
  }

  millisecond(said: PinMillisecond, inputs: BoardInputs): void {
    const { table } = this;
    if (this.now_ms++ > 0) table.advance(said.z_steps, said.digital_outputs);
    this.digital_outputs = said.digital_outputs;
    inputs.readings.set(table.world.readings);
    inputs.digital_inputs = table.digital_inputs;
    inputs.x_steps = table.x_steps;
    inputs.y_steps = table.y_steps;
  }
}
