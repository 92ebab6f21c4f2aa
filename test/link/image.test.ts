import { describe, expect, it } from 'vitest';
import { StandoffError } from '../../sim/base/index.js';
import { imageFile, readImage, writeUf2 } from '../../sim/link/index.js';
import { inventedImage, inventedImageFile } from './images.js';

const FILE = inventedImageFile(700, 3);
const NAME = 'invented.image';

function refusal(bytes: Uint8Array): StandoffError {
  try {
    readImage(bytes, NAME);
  } catch (error) {
    expect(error).toBeInstanceOf(StandoffError);
    return error as StandoffError;
  }
  throw new Error('the image was taken');
}

describe('an image file', () => {
  it('is read: its head, its body, its hashes; and written as it was', () => {
    const image = readImage(FILE, NAME);
    expect(image).toMatchObject({ version: 'test 3', head: { generation: 0, length: 700 } });
    expect(image.body).toEqual(FILE.slice(256));
    expect(image.module_sha256).toMatch(/^[0-9a-f]{64}$/);
    expect(imageFile(image)).toEqual(FILE);
  });

  it.each([
    ['nothing', new Uint8Array(0), 'image-short'],
    ['a head cut off', FILE.slice(0, 255), 'image-short'],
    ['something else', new Uint8Array(1000).fill(7), 'image-magic'],
    ['a UF2 file', writeUf2([{ address: 0, bytes: FILE }]), 'image-uf2'],
    ['a UF2 file cut off', writeUf2([{ address: 0, bytes: FILE }]).subarray(0, -512), 'image-uf2'],
    ['a UF2 file cut off in a block', writeUf2([{ address: 0, bytes: FILE }]).subarray(0, -100), 'image-uf2'],
    ['a body of no bytes', inventedImageFile(0, 3), 'image-head'],
    ['a body of half a word', inventedImageFile(702, 3), 'image-head'],
    ['for another place in memory', inventedImageFile(700, 3, { entry: 0x20001000 }), 'image-head'],
    ['an image out of a slot', inventedImageFile(700, 3, { generation: 4 }), 'image-head'],
    ['a format of the future', inventedImageFile(700, 3, { format: 9 }), 'image-format'],
    ['another board', inventedImageFile(700, 3, { board: 7 }), 'image-board'],
    ['a body longer than a slot', inventedImageFile(0x10001, 3), 'image-long'],
    ['a body cut off', FILE.slice(0, -1), 'image-truncated'],
    ['bytes after its end', Uint8Array.from([...FILE, 0]), 'image-tail'],
    ['a body of other bytes', Uint8Array.from(FILE, (byte, at) => (at === 300 ? byte ^ 4 : byte)), 'image-body'],
    ['a body with another hash', inventedImageFile(700, 3, { image_sha256: new Uint8Array(32) }), 'image-sha'],
  ])('that is %s is refused with the reason, and its name', (_, bytes, code) => {
    const error = refusal(bytes);
    expect(error.code).toBe(code);
    expect(error.what).toContain(NAME);
    expect(error.remedy).not.toBe('');
  });

  it('that is a whole UF2 is to be copied to the board’s drive, one that is cut off is not', () => {
    const uf2 = writeUf2([{ address: 0, bytes: FILE }]);
    expect(refusal(uf2).remedy).toContain('copy it to the drive');
    expect(refusal(uf2.subarray(0, -512))).toMatchObject({
      what: `${NAME} is a UF2 file that is cut off, damaged or for another chip`,
      remedy: expect.not.stringContaining('drive'),
    });
  });

  it('with any single bit wrong is refused', () => {
    for (let bit = 0; bit < 8 * FILE.length; bit++) {
      const wrong = FILE.slice();
      wrong[bit >> 3] ^= 1 << (bit & 7);
      expect(refusal(wrong).code).toMatch(/^image-/);
    }
  });

  it('that is overwritten after it was read leaves the image as it was', () => {
    const bytes = Buffer.from(FILE);
    const image = readImage(bytes, NAME);
    bytes.fill(0);
    expect(image.body).toEqual(FILE.slice(256));
  });

  it('of 64 KiB still fits', () => {
    expect(inventedImage(0x10000, 1).body).toHaveLength(0x10000);
  });
});
