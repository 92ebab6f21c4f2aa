import { createServer, type Server, type Socket } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import type { EmulatedBoard } from './board.js';
import { BoardMilliseconds, type PinMillisecond } from './milliseconds.js';

const HERE = '127.0.0.1';

/** The board's serial line on a TCP port of this machine, for one client at a time: a new one replaces it. */
export class LineServer {
  /** Bytes sent each way. */
  to_board = 0;
  from_board = 0;
  private client: Socket | undefined;
  private readonly waiting: number[] = [];
  private server: Server | undefined;

  constructor(private readonly board: EmulatedBoard) {
    board.onByte = (byte) => {
      if (this.client !== undefined) this.waiting.push(byte);
    };
  }

  /** @returns the port; 0 asks for any free one */
  async listen(port: number): Promise<number> {
    const server = createServer((socket) => this.welcome(socket));
    this.server = server;
    await new Promise<void>((resolve, reject) => {
      server.once('error', reject);
      server.listen(port, HERE, resolve);
    });
    const address = server.address();
    return address !== null && typeof address === 'object' ? address.port : port;
  }

  /** Hands over what the board has sent. Call it after each stretch of emulated time. */
  flush(): void {
    if (this.waiting.length === 0) return;
    this.from_board += this.waiting.length;
    this.client?.write(Uint8Array.from(this.waiting));
    this.waiting.length = 0;
  }

  async close(): Promise<void> {
    this.client?.destroy();
    const { server } = this;
    if (server !== undefined) await new Promise<void>((resolve) => server.close(() => resolve()));
  }

  private welcome(socket: Socket): void {
    this.client?.destroy();
    this.client = socket;
    this.waiting.length = 0;
    socket.setNoDelay(true);
    socket.on('data', (bytes) => {
      this.to_board += bytes.length;
      this.board.send(bytes);
    });
    // However the peer goes away, the line is then unplugged.
    socket.on('error', () => socket.destroy());
    socket.on('close', () => {
      if (this.client === socket) this.client = undefined;
    });
  }
}

/** What the board's surroundings give it in a millisecond. */
export interface BoardInputs {
  /** Converter counts, oldest first. */
  readonly readings: Uint16Array;
  /** INPUT_* */
  digital_inputs: number;
  /** Signed steps of the table. */
  x_steps: number;
  y_steps: number;
}

/** What stands behind the board's pins. The board does not know what it is. */
export interface BoardWorld {
  /** Called once a millisecond with what the pins said in the last one; fills in the inputs of the next one. */
  millisecond(said: PinMillisecond, inputs: BoardInputs): void;
}

/** How fast the board runs, until when, and who is told. */
export interface RealTimeOptions {
  /** Emulated seconds per second; default 1, infinity for as fast as it goes. */
  readonly speed?: number;
  readonly signal?: AbortSignal;
  /** After each millisecond. */
  readonly onMillisecond?: () => void;
}

/** The board waits for the clock when it is this far ahead, ms. */
const AHEAD_ms = 2;
/** When it is further behind than this, the time is given up, ms. */
const BEHIND_ms = 100;
/** Longest stretch of work before other events of this process get their turn, ms. */
const STRETCH_ms = 4;

/** How a run in real time went. */
interface RealTimeResult {
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
  };
  let done_ms = 0;
  let lost_ms = 0;
  let start_ms = performance.now();
  while (signal?.aborted !== true && !board.dead) {
    const stretch_end_ms = performance.now() + STRETCH_ms;
    const due = (): number => (Number.isFinite(speed) ? (performance.now() - start_ms) * speed : speed);
    while (performance.now() < stretch_end_ms && done_ms < due() + AHEAD_ms && !board.dead) {
      world.millisecond(milliseconds, inputs);
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
