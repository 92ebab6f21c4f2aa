import { setTimeout as sleep } from 'node:timers/promises';
import type { EmulatedBoard } from './board.js';
import { BoardMilliseconds, type PinMillisecond } from './milliseconds.js';

/** What the board's surroundings give it in a millisecond. */
export interface BoardInputs {
  /** Converter counts, oldest first. */
  readonly readings: Uint16Array;
  /** INPUT_* */
  digital_inputs: number;
  /** Signed steps of the table. */
  x_steps: number;
  y_steps: number;
  /** The firing contact's readback. */
  relay: boolean;
}

/** What stands behind the board's pins. The board does not know what it is. */
export interface BoardWorld {
  /** Once a millisecond: what the pins said in the last one; to be filled in, what comes in the next one. */
  millisecond(said: PinMillisecond, inputs: BoardInputs): void;
}

/** How fast the board runs, until when, and who is told. */
export interface RealTimeOptions {
  /** Emulated seconds in a second; 1 unless said otherwise, infinity for as fast as it goes. */
  readonly speed?: number;
  readonly signal?: AbortSignal;
  /** After each millisecond. */
  readonly onMillisecond?: () => void;
}

/** The board waits for the clock when it is this far ahead, ms. */
const AHEAD_ms = 2;
/** Further behind than this the time is given up, not caught up with, ms. */
const BEHIND_ms = 100;
/** Work at a stretch before other events of this process get their turn, ms. */
const STRETCH_ms = 4;

/** How a run in real time went. */
export interface RealTimeResult {
  readonly emulated_ms: number;
  /** Time that was given up because this machine was too slow. */
  readonly lost_ms: number;
}

/** Runs the board with its surroundings in step with the clock until the signal says stop, or its power goes. */
export async function runRealTime(
  board: EmulatedBoard,
  world: BoardWorld,
  options: RealTimeOptions = {},
): Promise<RealTimeResult> {
  const { speed = 1, signal, onMillisecond } = options;
  const milliseconds = new BoardMilliseconds(board);
  const inputs: BoardInputs = {
    readings: milliseconds.stimulus.readings,
    digital_inputs: 0,
    x_steps: 0,
    y_steps: 0,
    relay: false,
  };
  let done_ms = 0;
  let lost_ms = 0;
  let start_ms = performance.now();
  while (signal?.aborted !== true && !board.dead) {
    const stretch_end_ms = performance.now() + STRETCH_ms;
    const due = (): number => (Number.isFinite(speed) ? (performance.now() - start_ms) * speed : speed);
    while (performance.now() < stretch_end_ms && done_ms < due() + AHEAD_ms && !board.dead) {
      world.millisecond(milliseconds, inputs);
      board.pins.set('RELAY', inputs.relay);
      milliseconds.advance(inputs.digital_inputs, inputs.x_steps, inputs.y_steps);
      done_ms++;
      onMillisecond?.();
    }
    const behind_ms = due() - done_ms;
    if (Number.isFinite(behind_ms) && behind_ms > BEHIND_ms) {
      lost_ms += behind_ms;
      start_ms += behind_ms / speed;
    }
    await sleep(done_ms >= due() + AHEAD_ms ? 1 : 0);
  }
  return { emulated_ms: done_ms, lost_ms };
}
