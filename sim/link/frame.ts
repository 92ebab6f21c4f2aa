import { FRAME_EXTRA, PAYLOAD_MOST } from '../../firmware/wire/link-rows.js';

/** Bytes that one code can announce. */
const BLOCK_MOST = 254;

/**
 * Consistent overhead byte stuffing (S. Cheshire & M. Baker, IEEE/ACM Transactions on Networking 1999): the same bytes
 * without any 0, at most one more byte for each 254 begun, then the 0 that ends a line.
 */
export function stuff(bytes: Uint8Array): Uint8Array {
  const line = new Uint8Array(bytes.length + Math.floor(bytes.length / BLOCK_MOST) + 2);
  let code_at = 0;
  let next = 1;
  for (const byte of bytes) {
    if (byte !== 0) line[next++] = byte;
    const code = next - code_at;
    if (byte !== 0 && code <= BLOCK_MOST) continue;
    line[code_at] = code;
    code_at = next++;
  }
  line[code_at] = next - code_at;
  line[next++] = 0;
  return line.subarray(0, next);
}

/** @param line without its 0 @returns undefined for a line that is not stuffed */
export function unstuff(line: Uint8Array): Uint8Array | undefined {
  const bytes = new Uint8Array(line.length);
  let from = 0;
  let to = 0;
  while (from < line.length) {
    const code = line[from++];
    const block = code - 1;
    if (code === 0 || block > line.length - from) return undefined;
    bytes.set(line.subarray(from, from + block), to);
    from += block;
    to += block;
    if (code <= BLOCK_MOST && from < line.length) bytes[to++] = 0;
  }
  return bytes.subarray(0, to);
}

/** CRC-32 of IEEE 802.3, reflected polynomial EDB88320: "123456789" gives CBF43926. */
const TABLE = Uint32Array.from({ length: 256 }, (_, index) => {
  let crc = index;
  for (let bit = 0; bit < 8; bit++) crc = (crc & 1) !== 0 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  return crc >>> 0;
});

/** @param before the CRC of what came before, 0 for nothing */
export function crc32(bytes: Uint8Array, before = 0): number {
  let crc = ~before;
  for (const byte of bytes) crc = (crc >>> 8) ^ TABLE[(crc ^ byte) & 0xff];
  return ~crc >>> 0;
}

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
 * Finds frames in bytes that arrive in any pieces. Memory is constant and the time per byte bounded; whatever is not a
 * whole valid frame is counted and has no other effect.
 */
export class FrameDecoder {
  /** Lines that were not a whole frame. */
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
  return { service: body[0], status: body[1], sequence: view.getUint16(2, true), payload: body.slice(HEAD, end) };
}
