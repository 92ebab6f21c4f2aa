import { createServer, type Server, type Socket } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { IN_USE } from '../link/index.js';
import type { EmulatedBoard } from './board.js';
import type { BoardLine } from './link-port.js';
import { BoardMilliseconds, type PinMillisecond } from './milliseconds.js';

const HERE = '127.0.0.1';
/** How long a new client waits for the one before to be gone, ms. */
const LEAVING_ms = 100;

/** A line of the board on a TCP port of this machine, for one client at a time: a second is told who has it, and sent away. */
export class LineServer {
  /** Bytes sent each way. */
  to_board = 0;
  from_board = 0;
  private client: Socket | undefined;
  /** Of the client; a socket whose other end has gone has none. */
  private client_name = '';
  private readonly waiting: number[] = [];
  private server: Server | undefined;

  /** @param line the board itself for its serial line; its `usb`, which a client opens and closes as a program does */
  constructor(
    private readonly board: EmulatedBoard,
    private readonly line: BoardLine = board,
  ) {
    line.onByte = (byte) => {
      if (this.client !== undefined) this.waiting.push(byte);
    };
    // With the port its file goes, and with that the program's hold on it.
    if (line === board.usb) {
      board.usb.onGone = () => {
        this.flush();
        this.client?.destroySoon();
      };
    }
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
    // However the peer goes away, the line is then unplugged.
    socket.on('error', () => socket.destroy());
    if (this.client === undefined) this.connect(socket);
    else setTimeout(() => this.welcomeLate(socket), LEAVING_ms);
  }

  /** Whoever was there may just have been leaving. */
  private welcomeLate(socket: Socket): void {
    // Its end has been told already: the line would be its for ever.
    if (socket.destroyed) return;
    if (this.client === undefined) this.connect(socket);
    else socket.end(`${IN_USE}${this.client_name}\n`);
  }

  private connect(socket: Socket): void {
    const { usb } = this.board;
    const by_usb = this.line === usb;
    if (by_usb && !usb.open()) {
      socket.destroy();
      return;
    }
    // Whoever comes over TCP is told of which box this is the own port; to a decoder of frames it is no frame.
    if (by_usb) socket.write(`${usb.device!.serial}\0`);
    this.client = socket;
    this.client_name = `${socket.remoteAddress}:${socket.remotePort}`;
    this.waiting.length = 0;
    socket.setNoDelay(true);
    socket.on('data', (bytes) => {
      this.to_board += bytes.length;
      this.line.send(bytes);
    });
    socket.on('close', () => {
      if (this.client !== socket) return;
      this.client = undefined;
      if (by_usb) usb.close();
    });
  }
}

/** What the board's surroundings give it in a millisecond. */
export interface BoardInputs {
  /** Converter counts, oldest first. */
  readonly readings: Uint16Array;
  /** Counts at the converter's channel of the board's own reference. */
  reference: number;
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
    reference: milliseconds.stimulus.reference,
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
      milliseconds.stimulus.reference = inputs.reference;
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
