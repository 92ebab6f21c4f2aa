import { DRIVE_TRIGGER } from '../../firmware/wire/layout.js';
import type { EmulatedBoard } from '../board/index.js';
import { Stimulus } from '../board/stimulus.js';
import type { PracticeTable } from './practice-table.js';

const MS_ns = 1e6;
/** Bytes that may wait for a host that does not take them; a real line would have lost them. */
const MOST_WAITING = 1 << 16;

/** The shipped code on an emulated board, wired to a practice table, a millisecond at a time. */
export class EmulatedBox {
  private readonly stimulus: Stimulus;
  private sent: number[] = [];
  private z_steps: number;
  private trigger_edges: number;

  constructor(
    readonly board: EmulatedBoard,
    readonly table: PracticeTable,
  ) {
    this.stimulus = new Stimulus(board);
    this.z_steps = board.recorder.z_steps;
    this.trigger_edges = board.recorder.trigger_edges;
    board.onByte = (byte) => {
      if (this.sent.length < MOST_WAITING) this.sent.push(byte);
    };
  }

  /** Emulated time since power-up, ms. */
  get now_ms(): number {
    return this.board.now_ns / MS_ns;
  }

  /** Bytes from the host. */
  receive(bytes: Uint8Array): void {
    this.board.send(bytes);
  }

  /** Bytes for the host since the last time. */
  takeSent(): Uint8Array {
    const bytes = Uint8Array.from(this.sent);
    this.sent = [];
    return bytes;
  }

  /** Power off and on. */
  powerCycle(): void {
    this.board.powerCut();
    this.board.powerUp();
  }

  /** One millisecond of board, table and world. */
  runMs(): void {
    const { board, stimulus, table } = this;
    const { recorder } = board;
    stimulus.readings.set(table.world.readings);
    stimulus.begin(table.lines, table.x_steps, table.y_steps);
    board.run(MS_ns);
    // The trigger is a pulse train: as long as it moves, the firing contact is held.
    const firing = recorder.trigger_edges !== this.trigger_edges;
    const steps = recorder.z_steps - this.z_steps;
    this.trigger_edges = recorder.trigger_edges;
    this.z_steps = recorder.z_steps;
    board.pins.set('RELAY', table.world.relay !== 0);
    table.advance(steps, (board.pins.drives & ~DRIVE_TRIGGER) | (firing ? DRIVE_TRIGGER : 0));
  }
}
