import { FRAME_EXTRA, PAYLOAD_MOST } from '../../firmware/wire/link-rows.js';
import { stuff, unstuff } from './cobs.js';
import { crc32 } from './crc.js';

/** A frame of the link without its stuffing and checksum. */
export interface Frame {
  readonly service: number;
  readonly status: number;
  /** 0…65535 */
  readonly sequence: number;
  readonly payload: Uint8Array;
}

const FRAME_MOST = PAYLOAD_MOST + FRAME_EXTRA;
/** Longest line, with its end: one byte more per 254, one code, one 0. */
export const LINE_MOST = FRAME_MOST + Math.floor(FRAME_MOST / 254) + 2;
const HEAD = 4;
const CRC = 4;

/** The frame as it goes on the line, with its end. @throws RangeError for a payload longer than PAYLOAD_MOST */
export function encodeFrame({ service, status, sequence, payload }: Frame): Uint8Array {
  if (payload.length > PAYLOAD_MOST)
    throw new RangeError(`a payload of ${payload.length} bytes, at most ${PAYLOAD_MOST}`);
  const body = new Uint8Array(HEAD + payload.length + CRC);
  const view = new DataView(body.buffer);
  body[0] = service;
  body[1] = status;
  view.setUint16(2, sequence, true);
  body.set(payload, HEAD);
  view.setUint32(body.length - CRC, crc32(body.subarray(0, body.length - CRC)), true);
  return stuff(body);
}

/**
 * Frames out of bytes that come in any pieces. Constant memory; the time for a byte is bounded; whatever is no whole valid
 * frame is counted and has no other effect.
 */
export class FrameDecoder {
  /** Lines that were no whole frame. */
  refused = 0;
  private readonly line = new Uint8Array(LINE_MOST - 1);
  private length = 0;
  private too_long = false;

  /** @returns the whole frames that end in these bytes; their payloads are copies */
  take(bytes: Uint8Array): Frame[] {
    const frames: Frame[] = [];
    for (const byte of bytes) {
      const frame = this.takeByte(byte);
      if (frame) frames.push(frame);
    }
    return frames;
  }

  takeByte(byte: number): Frame | undefined {
    if (byte !== 0) {
      if (this.length >= this.line.length) this.too_long = true;
      else this.line[this.length++] = byte;
      return undefined;
    }
    const empty = this.length === 0 && !this.too_long;
    const frame = empty || this.too_long ? undefined : decodeBody(unstuff(this.line.subarray(0, this.length)));
    if (!empty && frame === undefined) this.refused++;
    this.length = 0;
    this.too_long = false;
    return frame;
  }
}

function decodeBody(body: Uint8Array | undefined): Frame | undefined {
  if (body === undefined || body.length < FRAME_EXTRA || body.length > FRAME_MOST) return undefined;
  const view = new DataView(body.buffer, body.byteOffset, body.length);
  const end = body.length - CRC;
  if (view.getUint32(end, true) !== crc32(body.subarray(0, end))) return undefined;
  return { service: body[0]!, status: body[1]!, sequence: view.getUint16(2, true), payload: body.slice(HEAD, end) };
}
