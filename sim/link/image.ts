import { createHash } from 'node:crypto';
import { BOARD_NUMBER_ROWS } from '../../firmware/wire/board-rows.js';
import { type CodeOf, StandoffError } from '../base/index.js';
import { crc32 } from './crc.js';
import { decodeLayout, encodeLayout, layoutBytes, type Values } from './layout.js';

const number = (name: string): number => BOARD_NUMBER_ROWS.find((row) => row.name === name)!.value;
const HEAD_BYTES = layoutBytes('image_head');
/** The head has a page to itself: what it does not fill is 255, as erased flash is. */
const PAGE_BYTES = number('PAGE_BYTES');
const BODY_MOST = number('BODY_MOST');

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
  // A copy: a slice of a Buffer is none.
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
  if (head.magic !== number('IMAGE_MAGIC')) {
    const uf2 = Buffer.from(bytes.subarray(0, 4)).toString('latin1') === 'UF2\n';
    if (uf2)
      return fail(
        'uf2',
        'is a UF2 file',
        'copy it to the drive that the board shows while its boot button is held; flash takes .image files',
      );
    return fail('magic', 'is no image for the box');
  }
  if (head.format !== number('IMAGE_FORMAT'))
    return fail(
      'format',
      `has the format ${head.format}; ${number('IMAGE_FORMAT')} is known here`,
      'use the Standoff that belongs to it',
    );
  if (head.board !== number('BOARD_KIND')) return fail('board', `is for another board (${hexWord(head.board)})`);
  if (crc32(page.subarray(0, HEAD_BYTES - 4)) !== head.head_crc)
    return fail('head', 'has a damaged head: its checksum is wrong');
  if (bytes.subarray(HEAD_BYTES, PAGE_BYTES).some((byte) => byte !== 0xff))
    return fail('head', 'has a damaged head: something stands after it in its page');
  const length = head.length as number;
  if (length > BODY_MOST) return fail('long', `has a body of ${length} bytes; a slot holds ${BODY_MOST}`);
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

/** Bytes of the file of an image: what readImage reads. */
export function imageFile({ head, body }: Pick<Image, 'head' | 'body'>): Uint8Array {
  const bytes = new Uint8Array(PAGE_BYTES + body.length).fill(0xff, 0, PAGE_BYTES);
  bytes.set(encodeLayout('image_head', head));
  bytes.set(body, PAGE_BYTES);
  return bytes;
}

const hexWord = (value: unknown) => `0x${Number(value).toString(16)}`;
