import { createHash } from 'node:crypto';
import { boardNumber } from '../../firmware/ports/rp2040/board-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';
import { Random } from '../../sim/base/index.js';
import {
  crc32,
  encodeLayout,
  type Image,
  imageFile,
  layoutBytes,
  readImage,
  type Values,
} from '../../sim/link/index.js';

/** The file of an image with a body of random bytes; `changes` to its head are covered by the head's checksum. */
export function inventedImageFile(length: number, seed: number, changes: Values = {}): Uint8Array {
  const random = new Random(seed);
  const body = Uint8Array.from({ length }, () => (random.chance(0.2) ? 0 : random.next_u32() & 0xff));
  const head = {
    magic: numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_MAGIC'),
    format: numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_FORMAT'),
    board: boardNumber('BOARD_KIND'),
    length,
    body_crc: crc32(body),
    entry: boardNumber('BODY_RAM_AT'),
    version: `test ${seed}`,
    module_sha256: createHash('sha256').update(`module ${seed}`).digest(),
    image_sha256: createHash('sha256').update(body).digest(),
    unused: new Uint8Array(136).fill(0xff),
    ...changes,
  };
  const head_crc = crc32(encodeLayout('image_head', head).subarray(0, layoutBytes('image_head') - 4));
  return imageFile({ head: { ...head, head_crc }, body });
}

/** An image of our own invention, as it comes out of its file. */
export const inventedImage = (length: number, seed: number): Image =>
  readImage(inventedImageFile(length, seed), `invented-${seed}.image`);
