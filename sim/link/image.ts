import { createHash } from 'node:crypto';
import { boardNumber } from '../../firmware/ports/rp2040/board-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../firmware/wire/number-rows.js';
import { type CodeOf, StandoffError } from '../base/index.js';
import { crc32 } from './frame.js';
import { decodeLayout, encodeLayout, layoutBytes, type Values } from './layout.js';

/** A piece of flash and its address. */
export interface Piece {
  readonly address: number;
  readonly bytes: Uint8Array;
}

// USB Flashing Format (microsoft/uf2, README; seen): 512-byte blocks, little-endian words.
const BLOCK = 512;
const MAGICS = [0x0a324655, 0x9e5d5157, 0x0ab16f30] as const;
const NOT_MAIN_FLASH = 0x0001;
const FAMILY_PRESENT = 0x2000;
/** Family of the RP2040 (microsoft/uf2, utils/uf2families.json; seen). */
const RP2040_FAMILY = 0xe48bff56;
const DATA = 256;
const AT = {
  magic: 0,
  magic2: 4,
  flags: 8,
  address: 12,
  size: 16,
  block: 20,
  total: 24,
  family: 28,
  data: 32,
  end: 508,
};

/** The pieces as UF2, in pages of 256 bytes; the rest of a last page is 255, as erased flash is. */
export function writeUf2(pieces: readonly Piece[]): Uint8Array {
  const pages = pieces.flatMap(({ address, bytes }) => {
    const list: Piece[] = [];
    for (let at = 0; at < bytes.length; at += DATA) {
      const page = new Uint8Array(DATA).fill(0xff);
      page.set(bytes.subarray(at, at + DATA));
      list.push({ address: address + at, bytes: page });
    }
    return list;
  });
  const file = new Uint8Array(pages.length * BLOCK);
  const view = new DataView(file.buffer);
  pages.forEach(({ address, bytes }, index) => {
    const start = index * BLOCK;
    const put = (at: number, value: number) => view.setUint32(start + at, value, true);
    put(AT.magic, MAGICS[0]);
    put(AT.magic2, MAGICS[1]);
    put(AT.flags, FAMILY_PRESENT);
    put(AT.address, address);
    put(AT.size, DATA);
    put(AT.block, index);
    put(AT.total, pages.length);
    put(AT.family, RP2040_FAMILY);
    file.set(bytes, start + AT.data);
    put(AT.end, MAGICS[2]);
  });
  return file;
}

/**
 * The pages of a UF2 file for the RP2040; blocks that are not for its flash are skipped.
 * @returns undefined when it is not one, is cut off, lacks a block, or is for another chip
 */
export function readUf2(file: Uint8Array): Piece[] | undefined {
  if (file.length === 0 || file.length % BLOCK !== 0) return undefined;
  const view = new DataView(file.buffer, file.byteOffset, file.length);
  const total = file.length / BLOCK;
  const pages: Piece[] = [];
  for (let index = 0; index < total; index++) {
    const get = (at: number) => view.getUint32(index * BLOCK + at, true);
    const magics = get(AT.magic) === MAGICS[0] && get(AT.magic2) === MAGICS[1] && get(AT.end) === MAGICS[2];
    if (!magics || get(AT.block) !== index || get(AT.total) !== total || get(AT.size) > AT.end - AT.data)
      return undefined;
    if ((get(AT.flags) & FAMILY_PRESENT) === 0 || get(AT.family) !== RP2040_FAMILY) return undefined;
    if ((get(AT.flags) & NOT_MAIN_FLASH) !== 0) continue;
    const start = index * BLOCK + AT.data;
    pages.push({ address: get(AT.address), bytes: file.slice(start, start + get(AT.size)) });
  }
  return pages;
}

const HEAD_BYTES = layoutBytes('image_head');
/** The head has a page to itself: what it does not fill is 255, as erased flash is. */
const PAGE_BYTES = boardNumber('PAGE_BYTES');
const BODY_MOST = boardNumber('BODY_MOST');
const ENTRY = boardNumber('BODY_RAM_AT');

/** An image as it is flashed: a head page, then the body. */
export interface Image {
  readonly head: Values;
  readonly body: Uint8Array;
  readonly version: string;
  /** Of the control module in it, lower-case hex. */
  readonly module_sha256: string;
  readonly image_sha256: string;
}

const hex = (bytes: unknown): string => Buffer.from(bytes as Uint8Array).toString('hex');

/**
 * Reads and checks an image file before anything is sent.
 * @param file its name, for messages
 * @throws StandoffError `image-…` with what is wrong
 */
export function readImage(file_bytes: Uint8Array, file: string): Image {
  // A copy: a slice of a Buffer is a view.
  const bytes = Uint8Array.from(file_bytes);
  const fail = (
    code: CodeOf<'image'>,
    what: string,
    remedy = 'use the image that came with Standoff, or build it again',
  ): never => {
    throw new StandoffError(`image-${code}`, `${file} ${what}`, remedy);
  };
  if (bytes.length < PAGE_BYTES)
    return fail('short', `has ${bytes.length} bytes; the head of an image alone has ${PAGE_BYTES}`);
  const page = bytes.subarray(0, HEAD_BYTES);
  const head = decodeLayout('image_head', page)!.values;
  if (head.magic !== numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_MAGIC')) {
    const uf2 = Buffer.from(bytes.subarray(0, 4)).toString('latin1') === 'UF2\n';
    if (uf2 && readUf2(bytes) === undefined)
      return fail(
        'uf2',
        'is a UF2 file that is cut off, damaged or for another chip',
        'copy the file again; flash takes .image files',
      );
    if (uf2)
      return fail(
        'uf2',
        'is a UF2 file',
        'copy it to the drive that the board shows while its boot button is held; flash takes .image files',
      );
    return fail('magic', 'is not an image for the box');
  }
  if (head.format !== numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_FORMAT'))
    return fail(
      'format',
      `has the format ${head.format}; ${numberOf(FORMAT_NUMBER_ROWS, 'IMAGE_FORMAT')} is known here`,
      'use the Standoff that belongs to it',
    );
  if (head.board !== boardNumber('BOARD_KIND')) return fail('board', `is for another board (${hexWord(head.board)})`);
  if (crc32(page.subarray(0, HEAD_BYTES - 4)) !== head.head_crc)
    return fail('head', 'has a damaged head: its checksum is wrong');
  if (bytes.subarray(HEAD_BYTES, PAGE_BYTES).some((byte) => byte !== 0xff))
    return fail('head', 'has a damaged head: something stands after it in its page');
  const length = head.length as number;
  if (length > BODY_MOST) return fail('long', `has a body of ${length} bytes; a slot holds ${BODY_MOST}`);
  if (length === 0 || length % 4 !== 0)
    return fail('head', `has a body of ${length} bytes; it must be whole words of 4`);
  if (head.entry !== ENTRY)
    return fail('head', `is for the address ${hexWord(head.entry)}; the box starts it at ${hexWord(ENTRY)}`);
  if (head.generation !== 0)
    return fail('head', `has the generation ${head.generation}; the loader gives it, and a file has 0`);
  const body = bytes.slice(PAGE_BYTES);
  if (body.length < length)
    return fail('truncated', `ends after ${body.length} of ${length} bytes`, 'copy the file again');
  if (body.length > length)
    return fail('tail', `goes on for ${body.length - length} bytes after its end`, 'copy the file again');
  if (crc32(body) !== head.body_crc)
    return fail('body', 'has a damaged body: its checksum is wrong', 'copy the file again');
  const image_sha256 = hex(head.image_sha256);
  if (createHash('sha256').update(body).digest('hex') !== image_sha256)
    return fail('sha', 'has a body that is not the one of its head', 'copy the file again');
  return { head, body, version: head.version as string, module_sha256: hex(head.module_sha256), image_sha256 };
}

/** The file of an image, as readImage reads it. */
export function imageFile({ head, body }: Pick<Image, 'head' | 'body'>): Uint8Array {
  const bytes = new Uint8Array(PAGE_BYTES + body.length).fill(0xff, 0, PAGE_BYTES);
  bytes.set(encodeLayout('image_head', head));
  bytes.set(body, PAGE_BYTES);
  return bytes;
}

/** The same image with four bytes of 0 behind its body: it does the same, and a box takes it for another one. */
export function markedImage(image: Image): Image {
  const body = new Uint8Array(image.body.length + 4);
  body.set(image.body);
  const image_sha256 = createHash('sha256').update(body).digest();
  const marked = { ...image.head, length: body.length, body_crc: crc32(body), image_sha256 };
  const covered = encodeLayout('image_head', marked).subarray(0, layoutBytes('image_head') - 4);
  return readImage(imageFile({ head: { ...marked, head_crc: crc32(covered) } as Values, body }), 'the marked image');
}

const hexWord = (value: unknown) => `0x${Number(value).toString(16)}`;
