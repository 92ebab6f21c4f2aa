import { crc32 } from 'node:zlib';
import { decode, encode } from 'cobs';
import { SERVICE_ROWS, STATUS_ROWS } from '../../firmware/wire/link-rows.js';

const code = (name: string): number => SERVICE_ROWS.find((row) => row.name === name)!.code;

/** A request as it goes on the line, put together by the npm package cobs and zlib. */
export function requestLine(service: string, payload: Uint8Array = new Uint8Array(), sequence = 1): Buffer {
  const bare = Buffer.concat([Buffer.from([code(service), 0, sequence & 0xff, sequence >> 8]), payload]);
  const crc = Buffer.alloc(4);
  crc.writeUInt32LE(crc32(bare));
  return Buffer.concat([encode(Buffer.concat([bare, crc])), Buffer.from([0])]);
}

export interface AnswerLine {
  readonly service: number;
  readonly status: string;
  readonly sequence: number;
  readonly payload: Buffer;
}

/** Whole frames in what came over the line. */
export function answerLines(bytes: Buffer): AnswerLine[] {
  const answers: AnswerLine[] = [];
  for (let from = 0; from < bytes.length; ) {
    const end = bytes.indexOf(0, from);
    const frame = decode(bytes.subarray(from, end));
    from = end + 1;
    if (frame.readUInt32LE(frame.length - 4) !== crc32(frame.subarray(0, -4))) throw new Error('CRC of an answer');
    answers.push({
      service: frame[0],
      status: STATUS_ROWS[frame[1]].name,
      sequence: frame.readUInt16LE(2),
      payload: frame.subarray(4, -4),
    });
  }
  return answers;
}
