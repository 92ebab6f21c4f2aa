import { ANSWER, type LayoutRow, layoutRow, placed, SERVICE_ROWS } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';
import type { EmulatedBoard } from './board.js';

/** A frame of the link, without its stuffing and checksum. */
export interface LinkFrame {
  readonly service: number;
  readonly status: number;
  readonly sequence: number;
  readonly payload: Uint8Array;
}

/** The link's code, which this room does not have of its own. */
export interface LinkCodec {
  /** The frame as it goes on the line, with its end. */
  encode(frame: LinkFrame): Uint8Array;
  /** One byte in; the frame when it is whole and valid. */
  newDecoder(): { take(byte: number): LinkFrame | undefined };
}

/** Fields of a layout by name: reads numbers out of a payload. */
export class Fields {
  private readonly places: ReadonlyMap<string, { readonly offset: number; readonly type: string }>;
  readonly bytes: number;

  constructor(name: string) {
    const row: LayoutRow = layoutRow(name);
    const { fields, bytes } = placed(row);
    this.places = new Map(fields.map(({ name: field, offset, type }) => [field, { offset, type }]));
    this.bytes = bytes;
  }

  get(payload: Uint8Array, name: string): number {
    const place = this.places.get(name);
    if (place === undefined) throw new Error(`no field ${name}`);
    const view = new DataView(payload.buffer, payload.byteOffset + place.offset);
    switch (place.type) {
      case 'u8':
        return view.getUint8(0);
      case 'u16':
        return view.getUint16(0, true);
      case 'i16':
        return view.getInt16(0, true);
      case 'i32':
        return view.getInt32(0, true);
      case 'f32':
        return view.getFloat32(0, true);
      default:
        return view.getUint32(0, true);
    }
  }

  /** Bytes of a field that is no number. */
  slice(payload: Uint8Array, name: string, length: number): Uint8Array {
    const { offset } = this.places.get(name)!;
    return payload.slice(offset, offset + length);
  }
}

/** Number of a service by its name. */
export function serviceCode(name: string): number {
  const row = SERVICE_ROWS.find((candidate) => candidate.name === name);
  if (row === undefined) throw new Error(`no service ${name}`);
  return row.code;
}

/** Emulated time that an answer may take, ns. */
const ANSWER_ns = 300e6;

/** The host's end of the emulated board's line, in emulated time: to ask is to let the board run until it answers. */
export class LinkPort {
  /** Told about every frame that comes. */
  onFrame: (frame: LinkFrame) => void = () => {};
  /** Frames that came so far. */
  frames = 0;
  private sequence = 0;
  private awaited = -1;
  private answer: LinkFrame | undefined;

  constructor(
    private readonly board: EmulatedBoard,
    private readonly codec: LinkCodec,
  ) {
    const decoder = codec.newDecoder();
    board.onByte = (byte) => {
      const frame = decoder.take(byte);
      if (frame !== undefined) this.take(frame);
    };
  }

  private take(frame: LinkFrame): void {
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
    this.board.send(this.codec.encode({ service: serviceCode(service), status: 0, sequence: this.sequence, payload }));
    return this.sequence;
  }

  /** Sends a request and lets the board run until its answer has come. @returns undefined when none came */
  try(service: string, payload?: Uint8Array, most_ns: number = ANSWER_ns): LinkFrame | undefined {
    const sequence = this.send(service, payload);
    const code = serviceCode(service) | ANSWER;
    const end_ns = this.board.now_ns + most_ns;
    while (!this.board.dead && this.board.now_ns < end_ns) {
      this.answer = undefined;
      this.awaited = sequence;
      this.board.runTo(end_ns);
      this.awaited = -1;
      const answer = this.answer as LinkFrame | undefined;
      if (answer !== undefined && answer.service === code) return answer;
    }
    return undefined;
  }

  /** @throws StandoffError board-silent */
  ask(service: string, payload?: Uint8Array, most_ns: number = ANSWER_ns): LinkFrame {
    const answer = this.try(service, payload, most_ns);
    if (answer !== undefined) return answer;
    throw new StandoffError(
      'board-silent',
      `the emulated board did not answer ${service} within ${most_ns / 1e6} ms of its time`,
      `look at what it met: ${this.board.problems.text() || 'nothing was noted'}`,
    );
  }
}
