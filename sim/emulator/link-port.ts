import { ANSWER, SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import { encodeFrame, type Frame, FrameDecoder } from '../link/index.js';
import type { EmulatedBoard } from './board.js';

/** Number of a service by its name. */
export function serviceCode(name: string): number {
  const row = SERVICE_ROWS.find((candidate) => candidate.name === name);
  if (row === undefined) throw new Error(`no service ${name}`);
  return row.code;
}

/** Emulated time that an answer may take, ns. */
const ANSWER_ns = 300e6;

/** A line of the board, in its own time: the serial one is the board itself, the other its `usb`. */
export interface BoardLine {
  onByte: (byte: number) => void;
  send(bytes: Uint8Array): void;
}

/** The host's end of the emulated board's line, in emulated time: `ask` lets the board run until it answers. */
export class LinkPort {
  /** Told about every frame that comes. */
  onFrame: (frame: Frame) => void = () => {};
  /** Frames that came so far. */
  frames = 0;
  private sequence = 0;
  private awaited = -1;
  private answer: Frame | undefined;

  constructor(
    private readonly board: EmulatedBoard,
    private readonly line: BoardLine = board,
  ) {
    const decoder = new FrameDecoder();
    line.onByte = (byte) => {
      const frame = decoder.takeByte(byte);
      if (frame !== undefined) this.take(frame);
    };
  }

  private take(frame: Frame): void {
    this.frames++;
    if (frame.sequence === this.awaited) {
      this.answer = frame;
      this.board.stopRun();
    }
    this.onFrame(frame);
  }

  /** Sends a request and does not wait. @returns its sequence number */
  send(service: string, payload: Uint8Array = new Uint8Array()): number {
    this.sequence = (this.sequence + 1) & 0xffff;
    this.line.send(encodeFrame({ service: serviceCode(service), status: 0, sequence: this.sequence, payload }));
    return this.sequence;
  }

  /** Sends a request and lets the board run until its answer has come. @returns undefined when none came */
  try(service: string, payload?: Uint8Array, most_ns: number = ANSWER_ns): Frame | undefined {
    const sequence = this.send(service, payload);
    const code = serviceCode(service) | ANSWER;
    const end_ns = this.board.now_ns + most_ns;
    while (!this.board.dead && this.board.now_ns < end_ns) {
      this.answer = undefined;
      this.awaited = sequence;
      this.board.runTo(end_ns);
      this.awaited = -1;
      const answer = this.answer as Frame | undefined;
      if (answer !== undefined && answer.service === code) return answer;
    }
    return undefined;
  }

  /** @throws StandoffError board-silent */
  ask(service: string, payload?: Uint8Array, most_ns: number = ANSWER_ns): Frame {
    const answer = this.try(service, payload, most_ns);
    if (answer !== undefined) return answer;
    throw new StandoffError(
      'board-silent',
      `the emulated board did not answer ${service} within ${most_ns / 1e6} ms of its time`,
      `look at what it met: ${this.board.problems.text() || 'nothing was noted'}`,
    );
  }
}
