import { ANSWER, SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { encodeFrame, encodeLayout, type Frame, FrameDecoder, type Line, type Values } from '../../sim/link/index.js';

/** What the other end answers to a request; undefined: nothing. */
export type Reply = (
  service: string,
  payload: Uint8Array,
) => { readonly status?: number; readonly values?: Values; readonly records?: readonly Values[] } | undefined;

/** A line in memory with a box at its other end that a test scripts. */
export class PeerLine implements Line {
  readonly address = 'test';
  readonly pending = 0;
  onBytes: (bytes: Uint8Array) => void = () => {};
  onClosed: (reason: string) => void = () => {};
  /** Requests that reached the box, by name, in order. */
  readonly asked: string[] = [];
  baud = 115200;
  closed = false;
  /** What becomes of each line to the box, and from it: the lines that arrive. Default: itself. */
  toBox: (line: Uint8Array) => readonly Uint8Array[] = (line) => [line];
  fromBox: (line: Uint8Array) => readonly Uint8Array[] = (line) => [line];
  private readonly decoder = new FrameDecoder();

  constructor(public reply: Reply) {}

  write(bytes: Uint8Array): void {
    if (this.closed) return;
    for (const line of this.toBox(bytes)) for (const frame of this.decoder.take(line)) this.serve(frame);
  }

  private serve({ service, sequence, payload }: Frame): void {
    const row = SERVICE_ROWS.find((candidate) => candidate.code === service)!;
    this.asked.push(row.name);
    const reply = this.reply(row.name, payload);
    if (reply === undefined) return;
    const { status = 0, values = {}, records = [] } = reply;
    const answer =
      row.answer === '' || (status !== 0 && reply.values === undefined)
        ? new Uint8Array(0)
        : encodeLayout(row.answer, values, records);
    this.send({ service: service | ANSWER, status, sequence, payload: answer });
  }

  /** The box sends a frame by itself. */
  send(frame: Frame): void {
    for (const line of this.fromBox(encodeFrame(frame))) queueMicrotask(() => !this.closed && this.onBytes(line));
  }

  async setSpeed(baud: number): Promise<void> {
    this.baud = baud;
  }

  async close(): Promise<void> {
    this.closed = true;
  }

  /** The plug is pulled. */
  pull(): void {
    this.closed = true;
    this.onClosed('the plug was pulled');
  }
}
