import { createServer, type Server, type Socket } from 'node:net';
import type { EmulatedBoard } from './board.js';

const HERE = '127.0.0.1';

/** The board's serial line on a TCP port of this machine, for one client at a time: a later one takes its place. */
export class LineServer {
  /** Bytes that went either way. */
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

  /** Hands over what the board has sent; to be called after each piece of its time. */
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
    // A peer that goes away in whatever manner unplugs the line.
    socket.on('error', () => socket.destroy());
    socket.on('close', () => {
      if (this.client === socket) this.client = undefined;
    });
  }
}
