import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { crc32 } from 'node:zlib';
import { BOARD_NUMBER_ROWS } from '../../firmware/ports/rp2040/board-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';
import { Random } from '../../sim/base/index.js';
import { packageFile } from '../../sim/base/package/files.js';
import type { EmulatedBoard } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout, layoutBytes, type Values } from '../../sim/link/index.js';

/** A number of the board or of the formats. */
export const board = (name: string): number => numberOf([...FORMAT_NUMBER_ROWS, ...BOARD_NUMBER_ROWS], name);

const shipped = (name: string) => readFileSync(packageFile(`firmware/image/${name}`));
export const loadLoader = (): Uint8Array => shipped('loader.bin');
export const loadImage = (): Uint8Array => shipped('standoff.image');

const PAGE = board('PAGE_BYTES');
const BODY_AT = board('BODY_RAM_AT');
const ENTRY = 0x100;
const WFI = 0xbf30;
const BRANCH_BACK = 0xe7fd;

/** An image of any length that only sleeps: random bytes around a loop. */
export function sleepingImage(length: number, seed: number): Uint8Array {
  const random = new Random(seed);
  const body = Uint8Array.from({ length }, () => random.next_u32());
  const view = new DataView(body.buffer);
  view.setUint32(0, board('BOX_RAM_AT') + board('BOX_RAM_BYTES'), true);
  view.setUint32(4, BODY_AT + ENTRY + 1, true);
  view.setUint16(ENTRY, WFI, true);
  view.setUint16(ENTRY + 2, BRANCH_BACK, true);
  return withHead(body);
}

/** The shipped image with a few bytes behind it: it does the same, and is another one. */
export function variantImage(tag: number): Uint8Array {
  const file = loadImage();
  const body = new Uint8Array(file.length - PAGE + 4).fill(tag);
  body.set(file.subarray(PAGE));
  const head = decodeLayout('image_head', file.subarray(0, layoutBytes('image_head')))!.values;
  const { export_table, module_sha256, version } = head as Values;
  return withHead(body, { export_table: export_table!, module_sha256: module_sha256!, version: version! });
}

/** A body with the head that its file begins with; `changes` spoil it. */
export function withHead(body: Uint8Array, changes: Values = {}): Uint8Array {
  const head = encodeLayout('image_head', {
    magic: board('IMAGE_MAGIC'),
    format: board('IMAGE_FORMAT'),
    board: board('BOARD_KIND'),
    length: body.length,
    body_crc: crc32(body),
    entry: BODY_AT,
    version: 'test',
    image_sha256: createHash('sha256').update(body).digest(),
    unused: new Uint8Array(136).fill(0xff),
    ...changes,
  });
  const view = new DataView(head.buffer);
  view.setUint32(head.length - 4, crc32(head.subarray(0, head.length - 4)), true);
  const image = new Uint8Array(PAGE + body.length).fill(0xff);
  image.set(head);
  image.set(body, PAGE);
  return image;
}

/** The image whose body runs, once the loader has started one; undefined when none did in that time. */
export function started(
  emulated: EmulatedBoard,
  images: readonly Uint8Array[],
  most_ns = 1e9,
): Uint8Array | undefined | 'another' {
  const { processor } = emulated.chip;
  const runs = () => processor.r[15] >= BODY_AT && processor.r[15] < BODY_AT + board('BODY_MOST');
  if (!emulated.runUntil(runs, most_ns)) return undefined;
  const found = images.find((image) => {
    const body = image.subarray(PAGE);
    return Buffer.compare(processor.memory.subarray(0, body.length), body) === 0;
  });
  return found ?? 'another';
}
