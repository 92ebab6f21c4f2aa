import { STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { type EmulatedBoard, LinkPort } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { board } from './images.js';

export const status = (name: string): number => STATUS_ROWS.find((row) => row.name === name)!.code;
export const statusName = (code: number): string => STATUS_ROWS[code].name;

const BAUD = 921_600;
const CHUNK = 256;
const PAGE = board('PAGE_BYTES');
const HEAD_BYTES = encodeLayout('image_head', {
  module_sha256: new Uint8Array(32),
  image_sha256: new Uint8Array(32),
  unused: new Uint8Array(136),
}).length;
/** Boot ROM, copy of the loader, crystal and the look into the slots take some 160 ms, listening 150. */
const LISTENS_WITHIN_ns = 400e6;
const ASK_ns = 20e6;
const MS_ns = 1e6;

/** Switches the board on, calls while its loader listens, and agrees on the fast line. */
export function enterLoader(emulated: EmulatedBoard): LinkPort {
  const link = new LinkPort(emulated);
  emulated.powerUp();
  const end_ns = emulated.now_ns + LISTENS_WITHIN_ns;
  let answer = link.try('identity', undefined, ASK_ns);
  while (answer === undefined && emulated.now_ns < end_ns) answer = link.try('identity', undefined, ASK_ns);
  const { payload } = answer ?? link.ask('identity');
  if (decodeLayout('identity', payload)!.values.in_loader !== 1) throw new Error('it is not the loader that answers');
  fastLine(emulated, link);
  return link;
}

export function fastLine(emulated: EmulatedBoard, link: LinkPort): void {
  link.ask('line-speed', encodeLayout('line_speed', { baud: BAUD }));
  emulated.run(MS_ns);
}

export const headOf = (image: Uint8Array): Uint8Array => image.subarray(0, HEAD_BYTES);

/** The bytes of the body from a place on, as an update-write. */
export function writeRequest(image: Uint8Array, offset: number): Uint8Array {
  const bytes = image.subarray(PAGE + offset, Math.min(image.length, PAGE + offset + CHUNK));
  const place = encodeLayout('update_bytes', { offset });
  const request = new Uint8Array(place.length + bytes.length);
  request.set(place);
  request.set(bytes, place.length);
  return request;
}

/** Announces and sends an image and has it marked. @returns the status it ends with, -1 when the board is silent */
export function update(emulated: EmulatedBoard, link: LinkPort, image: Uint8Array): number {
  const begun = link.try('update-begin', headOf(image));
  if (begun === undefined) return -1;
  if (begun.status !== 0) return begun.status;
  for (let offset = 0; offset < image.length - PAGE; offset += CHUNK) {
    const written = link.try('update-write', writeRequest(image, offset));
    if (written === undefined) return -1;
    if (written.status !== 0) return written.status;
  }
  for (;;) {
    const finished = link.try('update-finish');
    if (finished === undefined) return -1;
    if (finished.status !== status('busy')) return finished.status;
    emulated.run(MS_ns);
  }
}
