import { createHash } from 'node:crypto';
import { crc32 } from 'node:zlib';
import { BOARD_NUMBER_ROWS } from '../../firmware/ports/rp2040/board-rows.js';
import { layoutRow, placed } from '../../firmware/wire/link-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';

/** A number of the board or of the formats. */
export const boardNumber = (name: string): number => numberOf([...FORMAT_NUMBER_ROWS, ...BOARD_NUMBER_ROWS], name);
const HEAD = placed(layoutRow('image_head')).fields;

/** A body that no other tag has. */
export const madeBody = (length: number, tag: number): Buffer =>
  Buffer.from(Array.from({ length }, (_, i) => (i * 31 + (i >> 8) * 7 + tag) & 0xff));

/** Head of an image with this body; `changes` replace fields before the head's own checksum is taken. */
export function madeHead(body: Buffer, changes: Readonly<Record<string, number>> = {}): Buffer {
  const head = Buffer.alloc(252);
  const fields: Record<string, number | Buffer> = {
    magic: boardNumber('IMAGE_MAGIC'),
    format: boardNumber('IMAGE_FORMAT'),
    board: boardNumber('BOARD_KIND'),
    length: body.length,
    body_crc: crc32(body),
    entry: boardNumber('BODY_RAM_AT'),
    image_sha256: createHash('sha256').update(body).digest(),
    ...changes,
  };
  for (const { name, type, offset } of HEAD) {
    const value = fields[name];
    if (Buffer.isBuffer(value)) value.copy(head, offset);
    else if (type === 'u16') head.writeUInt16LE(value ?? 0, offset);
    else if (type === 'u32') head.writeUInt32LE(value ?? 0, offset);
  }
  head.writeUInt32LE(crc32(head.subarray(0, 248)), 248);
  return head;
}

/** A chip that holds this image in a slot, with a generation. */
export function placeImage(chip: Buffer, slot: 0 | 1, body: Buffer, generation: number): void {
  const at = boardNumber(slot === 0 ? 'SLOT_0_AT' : 'SLOT_1_AT');
  madeHead(body, { generation }).copy(chip, at);
  body.copy(chip, at + boardNumber('PAGE_BYTES'));
}
