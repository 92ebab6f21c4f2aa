import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { EmulatedBoard, REAL_TIMES } from '../../sim/emulator/index.js';
import { crc32, type FlashResult, flash, type Image, readImage } from '../../sim/link/index.js';
import { EmulatedLine } from '../emulator/emulated-line.js';
import { inventedImageFile } from './images.js';

const shipped = (name: string): Uint8Array => readFileSync(new URL(`../../firmware/image/${name}`, import.meta.url));
const BODY_MOST = 0x10000;
const BAUD = 921_600;

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

/** The shipped image with random bytes behind it, up to the longest body that there may be. */
function fullImage(): Image {
  const { head, body } = readImage(shipped('standoff.image'), 'standoff.image');
  const random = new Random(9);
  const full = Uint8Array.from({ length: BODY_MOST }, (_, at) => body[at] ?? random.next_u32() & 0xff);
  const image_sha256 = createHash('sha256').update(full).digest();
  const { entry, export_table, module_sha256 } = head;
  const bytes = inventedImageFile(BODY_MOST, 9, {
    ...{ entry: entry, export_table: export_table, module_sha256: module_sha256 },
    ...{ body_crc: crc32(full), image_sha256, version: 'full' },
  });
  bytes.set(full, bytes.length - BODY_MOST);
  return readImage(bytes, 'full.image');
}

describe('a full image of 64 KiB at 921600 bit/s, into the emulated board with the flash chip’s real times', () => {
  it('comes at 75 % of the line’s rate at least, and is what answers then', async () => {
    const board = await EmulatedBoard.create({ loader: shipped('loader.bin'), times: REAL_TIMES });
    board.powerUp();
    const image = fullImage();
    const line = new EmulatedLine(board, () => vi.advanceTimersByTimeAsync(1));
    let result: FlashResult | undefined;
    const work = flash({ open: async () => line, image, baud: BAUD }).then((done) => {
      result = done;
    });
    for (let ms = 0; result === undefined && ms < 20_000; ms++) await line.millisecond();
    await work;
    expect(result!.after).toMatchObject({ in_loader: false, image_sha256: image.image_sha256 });
    // Ten bits a byte. Everything between the announcement and the mark counts, erasing and verifying too.
    const share = (10_000 * image.body.length) / (result!.transfer_ms * BAUD);
    console.info(`flash: ${(100 * share).toFixed(1)} % of the line`);
    expect(share).toBeGreaterThanOrEqual(0.75);
    expect(result!).toMatchObject({ written: true, compared: true, running: { holds: 'trial', origin: 'defaults' } });
  });
});
