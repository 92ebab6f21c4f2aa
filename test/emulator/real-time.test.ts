import { connect, type Socket } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { INPUT_KEY, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import { type BoardWorld, EmulatedBoard, LineServer, runRealTime } from '../../sim/emulator/index.js';
import { decodeLayout, encodeFrame, type Frame, FrameDecoder } from '../../sim/link/index.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader } from './images.js';

const IDENTITY = 1;
const STARTED_ms = 600;

const createBoard = () => EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });

/** A machine that is switched on and does nothing. */
class RestingWorld implements BoardWorld {
  milliseconds = 0;
  digital_inputs = RESTING;
  readonly said: number[] = [];
  constructor(
    private readonly most: number,
    private readonly end: () => void,
  ) {}

  millisecond(
    { digital_outputs }: { digital_outputs: number },
    inputs: Parameters<BoardWorld['millisecond']>[1],
  ): void {
    inputs.readings.fill(124);
    inputs.digital_inputs = this.digital_inputs;
    this.said.push(digital_outputs);
    if (++this.milliseconds === this.most) this.end();
  }
}

const ask = (socket: Socket, sequence: number) =>
  socket.write(encodeFrame({ service: IDENTITY, status: 0, sequence, payload: new Uint8Array() }));

function client(port: number): { socket: Socket; frame: Promise<Frame> } {
  const socket = connect({ port, host: '127.0.0.1' });
  const decoder = new FrameDecoder();
  const frame = new Promise<Frame>((resolve, reject) => {
    socket.on('data', (bytes) => {
      for (const found of decoder.take(bytes)) resolve(found);
    });
    socket.on('close', () => reject(new Error('closed')));
  });
  frame.catch(() => {});
  return { socket, frame };
}

const servers: LineServer[] = [];
afterEach(async () => {
  for (const server of servers.splice(0)) await server.close();
});

describe('the board on a TCP port', () => {
  it('answers a client, sends a second one away with the name of the first, and goes on when that one leaves', async () => {
    const board = await createBoard();
    const server = new LineServer(board);
    servers.push(server);
    const port = await server.listen(0);
    const stop = new AbortController();
    const run = runRealTime(board, new RestingWorld(Number.POSITIVE_INFINITY, () => {}), {
      signal: stop.signal,
      speed: Number.POSITIVE_INFINITY,
      onMillisecond: () => server.flush(),
    });
    while (board.now_ns < STARTED_ms * 1e6) await new Promise((resolve) => setTimeout(resolve, 5));
    const first = client(port);
    await new Promise((resolve) => first.socket.once('connect', resolve));
    ask(first.socket, 7);
    const answer = await first.frame;
    expect(answer.sequence).toBe(7);
    expect(decodeLayout('identity', answer.payload)!.values.in_loader).toBe(0);

    const second = client(port);
    let told = '';
    second.socket.on('data', (bytes) => {
      told += String(bytes);
    });
    await new Promise((resolve) => second.socket.once('close', resolve));
    expect(told).toBe(`the line is in use by 127.0.0.1:${first.socket.localPort}\n`);
    ask(first.socket, 8);
    await new Promise((resolve) => first.socket.once('data', resolve));
    first.socket.destroy();

    const third = client(port);
    ask(third.socket, 9);
    expect((await third.frame).sequence).toBe(9);
    third.socket.destroy();
    expect(server.to_board).toBeGreaterThan(0);
    expect(server.from_board).toBeGreaterThan(0);
    stop.abort();
    await run;
  });
});

describe('a client that leaves while it waits for the one before', () => {
  it('does not keep the line', async () => {
    const server = new LineServer(await createBoard());
    servers.push(server);
    const port = await server.listen(0);
    const connected = async () => {
      const { socket } = client(port);
      await new Promise((resolve) => socket.once('connect', resolve));
      return socket;
    };
    const first = await connected();
    const second = await connected();
    await new Promise((resolve) => setTimeout(resolve, 30));
    second.destroy();
    first.destroy();
    await new Promise((resolve) => setTimeout(resolve, 150));
    const third = await connected();
    let told = '';
    third.on('data', (bytes) => {
      told += String(bytes);
    });
    await new Promise((resolve) => setTimeout(resolve, 200));
    expect([told, third.destroyed]).toEqual(['', false]);
    third.destroy();
  });
});

describe('real time', () => {
  it('hands over each millisecond once and tells how many there were', async () => {
    const board = await createBoard();
    const stop = new AbortController();
    const world = new RestingWorld(STARTED_ms, () => stop.abort());
    const { emulated_ms, lost_ms } = await runRealTime(board, world, {
      signal: stop.signal,
      speed: Number.POSITIVE_INFINITY,
    });
    expect(emulated_ms).toBeGreaterThanOrEqual(STARTED_ms);
    expect(world.milliseconds).toBe(emulated_ms);
    expect(lost_ms).toBe(0);
    expect(board.now_ns / 1e6).toBeCloseTo(emulated_ms, -1);
    expect(board.tick.count).toBeGreaterThan(100);
    expect(world.said.every((digital_outputs) => (digital_outputs & OUTPUT_Z_OWNED) === 0)).toBe(true);
  });

  it('gives up time that this machine is too slow for instead of running after it', async () => {
    const board = await createBoard();
    const stop = new AbortController();
    const world = new RestingWorld(300, () => stop.abort());
    // A thousand times as fast as the clock: no machine does that.
    const { emulated_ms, lost_ms } = await runRealTime(board, world, { signal: stop.signal, speed: 1000 });
    expect(lost_ms).toBeGreaterThan(emulated_ms);
  });

  it('ends when the power goes', async () => {
    const board = await createBoard();
    const world = new RestingWorld(50, () => board.powerCut());
    world.digital_inputs = RESTING | INPUT_KEY;
    const { emulated_ms } = await runRealTime(board, world, { speed: Number.POSITIVE_INFINITY });
    expect(emulated_ms).toBe(50);
  });
});
