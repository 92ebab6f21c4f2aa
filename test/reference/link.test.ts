import { readFileSync } from 'node:fs';
import { crc32 as zlibCrc32 } from 'node:zlib';
import cobs from 'cobs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boardNumber } from '../../firmware/ports/rp2040/board-rows.js';
import { stuff, unstuff } from '../../sim/link/frame.js';
import { crc32, type Piece, readImage, readUf2, writeUf2 } from '../../sim/link/index.js';

const hex = (text: string) => Uint8Array.from(text.split(' ').filter(Boolean), (word) => Number.parseInt(word, 16));
const run = (count: number, byte: number) => new Array<number>(count).fill(byte);

describe('COBS against published vectors (Cheshire & Baker, IEEE/ACM Transactions on Networking 1999; second hand)', () => {
  it.each([
    ['their example', hex('45 00 00 2C 4C 79 00 00 40 06 4F 37'), hex('02 45 01 04 2C 4C 79 01 05 40 06 4F 37')],
    ['nothing', hex(''), hex('01')],
    ['a single zero', hex('00'), hex('01 01')],
    [
      '679 ones and a zero',
      Uint8Array.from([...run(679, 1), 0]),
      Uint8Array.from([0xff, ...run(254, 1), 0xff, ...run(254, 1), 0xac, ...run(171, 1), 1]),
    ],
  ])('%s', (_, plain, stuffed) => {
    expect([...stuff(plain)]).toEqual([...stuffed, 0]);
    expect(unstuff(stuffed)).toEqual(plain);
  });
});

describe('COBS against the npm package cobs (computed)', () => {
  it('gives the same bytes, both ways', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.uint8Array({ maxLength: 700 }),
          fc.constantFrom(...[253, 254, 255, 508, 509].map((n) => Uint8Array.from(run(n, 7)))),
        ),
        (plain) => {
          const theirs = cobs.encode(Buffer.from(plain));
          expect(unstuff(theirs)).toEqual(plain);
          const ours = stuff(plain).subarray(0, -1);
          expect(Uint8Array.from(cobs.decode(Buffer.from(ours)))).toEqual(plain);
        },
      ),
    );
  });
});

describe('CRC-32', () => {
  it('gives the check values of the catalogue of CRC algorithms (second hand)', () => {
    expect(crc32(Buffer.from('123456789'))).toBe(0xcbf43926);
    expect(crc32(Buffer.from('A'))).toBe(0xd3d99e8b);
    expect(crc32(Buffer.from(''))).toBe(0);
  });

  it('is the one of zlib (computed), in one piece and in two', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 500 }), fc.nat({ max: 500 }), (bytes, at) => {
        expect(crc32(bytes)).toBe(zlibCrc32(bytes));
        expect(crc32(bytes.subarray(at), crc32(bytes.subarray(0, at)))).toBe(zlibCrc32(bytes));
      }),
    );
  });
});

describe('UF2 against the layout in its README (microsoft/uf2; seen; the family from its utils/uf2families.json; seen)', () => {
  const pieces: Piece[] = [
    { address: 0x10000000, bytes: Uint8Array.from(run(256, 1)) },
    { address: 0x10010000, bytes: Uint8Array.from(run(300, 2)) },
  ];
  const file = writeUf2(pieces);
  const view = new DataView(file.buffer);
  const word = (block: number, at: number) => view.getUint32(block * 512 + at, true);

  it('has blocks of 512 bytes with the magic words, number, total, address, size and family in their places', () => {
    expect(file.length).toBe(3 * 512);
    for (let block = 0; block < 3; block++) {
      expect([word(block, 0), word(block, 4), word(block, 508)]).toEqual([0x0a324655, 0x9e5d5157, 0x0ab16f30]);
      expect([word(block, 20), word(block, 24), word(block, 16)]).toEqual([block, 3, 256]);
      expect([word(block, 8), word(block, 28)]).toEqual([0x2000, 0xe48bff56]);
    }
    expect([word(0, 12), word(1, 12), word(2, 12)]).toEqual([0x10000000, 0x10010000, 0x10010100]);
    expect([...file.subarray(2 * 512 + 32, 2 * 512 + 32 + 45)]).toEqual([...run(44, 2), 0xff]);
  });

  it('is read back, and nothing else is', () => {
    expect(readUf2(file)!.map(({ address }) => address)).toEqual([0x10000000, 0x10010000, 0x10010100]);
    expect(readUf2(file.subarray(0, 1000))).toBeUndefined();
    for (const at of [0, 4, 9, 20, 24, 28, 508, 512]) {
      const wrong = file.slice();
      // The flag that a family is named is bit 13: bit 5 of the byte at 9.
      wrong[at] ^= at === 9 ? 0x20 : 1;
      expect(readUf2(wrong), `byte ${at}`).toBeUndefined();
    }
    // A block that is not for the main flash is passed over.
    const comment = file.slice();
    comment[512 + 8] |= 1;
    expect(readUf2(comment)!.map(({ address }) => address)).toEqual([0x10000000, 0x10010100]);
  });

  it('reads the shipped file, which another program wrote: the loader, and the image in the first slot', () => {
    const shipped = (name: string) => readFileSync(new URL(`../../firmware/image/${name}`, import.meta.url));
    const flash = new Uint8Array(boardNumber('FLASH_BYTES'));
    for (const { address, bytes } of readUf2(shipped('standoff.uf2'))!)
      flash.set(bytes, address - boardNumber('FLASH_BASE'));
    const loader = shipped('loader.bin');
    expect(Buffer.compare(flash.subarray(0, loader.length), loader)).toBe(0);
    const { body } = readImage(shipped('standoff.image'), 'standoff.image');
    const at = boardNumber('SLOT_0_AT') + boardNumber('PAGE_BYTES');
    expect(Buffer.compare(flash.subarray(at, at + body.length), body)).toBe(0);
  });
});
