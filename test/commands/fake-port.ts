import { createServer, type Server, type Socket } from 'node:net';
import { afterAll } from 'vitest';
import type { FakeBox } from '../link/fake-box.js';

const opened: FakePort[] = [];
// Here and not where one is opened: a test cannot ask for something after all of them.
afterAll(() => Promise.all(opened.map((port) => port.close())));

/** A fake box on a TCP port of this computer, as an adapter with a network plug would offer it. */
export class FakePort {
  address = '';
  /** Connections so far. */
  connections = 0;
  /** Nothing comes through in either direction, and the connection stays open: what a pulled plug looks like. */
  mute = false;
  private socket: Socket | undefined;
  private server: Server | undefined;
  private left = Number.POSITIVE_INFINITY;

  private constructor(readonly box: FakeBox) {
    box.onBytes = (bytes) => {
      if (this.mute) return;
      this.left -= bytes.length;
      this.socket?.write(bytes);
      if (this.left <= 0) this.unplug();
    };
  }

  static async open(box: FakeBox): Promise<FakePort> {
    const port = new FakePort(box);
    await port.plugIn();
    opened.push(port);
    return port;
  }

  /** Listens; after the first time on the same port. */
  async plugIn(): Promise<void> {
    const number = Number(this.address.split(':').at(-1) || 0);
    const server = createServer((socket) => this.welcome(socket));
    this.server = server;
    await new Promise<void>((resolve) => server.listen(number, '127.0.0.1', resolve));
    this.address = `tcp://127.0.0.1:${(server.address() as { port: number }).port}`;
  }

  /** The plug is pulled once the box has sent so many bytes more; it can be plugged in again. */
  unplugAfter(bytes: number): void {
    this.left = bytes;
  }

  /** The connection breaks; a new one is welcome at once. */
  unplug(): void {
    this.left = Number.POSITIVE_INFINITY;
    this.socket?.destroy();
    this.socket = undefined;
  }

  async close(): Promise<void> {
    this.unplug();
    this.box.stop();
    await new Promise((resolve) => (this.server ? this.server.close(resolve) : resolve(undefined)));
    this.server = undefined;
  }

  private welcome(socket: Socket): void {
    this.connections++;
    this.socket?.destroy();
    this.socket = socket;
    socket.setNoDelay(true);
    socket.on('data', (bytes) => this.mute || this.box.receive(bytes));
    socket.on('error', () => socket.destroy());
  }
}
