/** The link's code once more, by other means than the project's own: zlib's CRC-32 and the package cobs. */
import { createRequire } from 'node:module';
import { crc32 } from 'node:zlib';
import type { LinkCodec, LinkFrame } from '../../sim/board/index.js';

const cobs = createRequire(import.meta.url)('cobs') as {
  encode(bytes: Buffer): Buffer;
  decode(bytes: Buffer): Buffer;
};

function decode(line: Uint8Array): LinkFrame | undefined {
  if (line.length < 2) return undefined;
  const bytes = cobs.decode(Buffer.from(line));
  if (bytes.length < 8) return undefined;
  const end = bytes.length - 4;
  if (crc32(bytes.subarray(0, end)) !== bytes.readUInt32LE(end)) return undefined;
  return {
    service: bytes[0]!,
    status: bytes[1]!,
    sequence: bytes.readUInt16LE(2),
    payload: Uint8Array.from(bytes.subarray(4, end)),
  };
}

export const codec: LinkCodec = {
  encode({ service, status, sequence, payload }) {
    const bytes = Buffer.alloc(8 + payload.length);
    bytes[0] = service;
    bytes[1] = status;
    bytes.writeUInt16LE(sequence, 2);
    bytes.set(payload, 4);
    bytes.writeUInt32LE(crc32(bytes.subarray(0, bytes.length - 4)), bytes.length - 4);
    return Uint8Array.from([...cobs.encode(bytes), 0]);
  },
  newDecoder() {
    let line: number[] = [];
    return {
      take(byte) {
        if (byte !== 0) {
          line.push(byte);
          return undefined;
        }
        const whole = Uint8Array.from(line);
        line = [];
        return decode(whole);
      },
    };
  },
};
