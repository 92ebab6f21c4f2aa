import { crc32 } from 'node:zlib';
import { BOARD_NUMBER_ROWS } from '../../firmware/wire/board-rows.js';
import { layoutRow, placed } from '../../firmware/wire/link-rows.js';
import { StandoffError } from '../base/index.js';

const number = (name: string): number => BOARD_NUMBER_ROWS.find((row) => row.name === name)!.value;
const PAGE = number('PAGE_BYTES');
const SLOT_BYTES = number('SLOT_BYTES');
const SLOTS = [number('SLOT_0_AT'), number('SLOT_1_AT')] as const;
const HEAD = placed(layoutRow('image_head')).fields;
const offset = (name: string): number => HEAD.find((field) => field.name === name)!.offset;

/**
 * Places an image into a slot of the flash with this generation, as the loader leaves it after an update.
 * @throws StandoffError `image-size`
 */
export function installImage(flash: Uint8Array, image: Uint8Array, slot: 0 | 1, generation: number): void {
  if (image.length <= PAGE || image.length > SLOT_BYTES) {
    throw new StandoffError(
      'image-size',
      `the image has ${image.length} bytes, a slot takes ${PAGE + 1} to ${SLOT_BYTES}`,
      'give an image file for this board',
    );
  }
  const whole = Uint8Array.from(image); // a slice of a Buffer would be the Buffer itself
  const view = new DataView(whole.buffer);
  view.setUint32(offset('generation'), generation, true);
  view.setUint32(offset('head_crc'), crc32(whole.subarray(0, offset('head_crc'))), true);
  flash.fill(0xff, SLOTS[slot], SLOTS[slot] + SLOT_BYTES);
  flash.set(whole, SLOTS[slot]);
}

/** A field of an image's head. */
export function headField(image: Uint8Array, name: string): number {
  return new DataView(image.buffer, image.byteOffset).getUint32(offset(name), true);
}
