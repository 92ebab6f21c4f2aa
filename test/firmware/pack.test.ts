import { describe, expect, it } from 'vitest';
import { bootBlock, bootRomCrc, image, loader, uf2, withGeneration } from '../../firmware/image/pack.mjs';
import { boardNumber, madeBody, madeHead } from './made-image.js';

const FACTS = { version: '1.2.3', module_sha256: Buffer.alloc(32, 7), export_table: 0x20000400 };

describe('the boot block', () => {
  // CRC-32/MPEG-2, the same parameters as the RP2040 data sheet gives in 2.8.1.3.1 (seen): check value of "123456789" in
  // the catalogue of parametrised CRC algorithms (memory).
  it('is checked by a CRC whose check value is 0376E6E7', () => {
    expect(bootRomCrc(Buffer.from('123456789'))).toBe(0x0376e6e7);
  });

  it('is 256 bytes, the last four its CRC, little-endian, so that code and CRC together leave nothing', () => {
    const block = bootBlock(boardNumber, Buffer.from('boot'));
    expect(block.length).toBe(256);
    expect(block.readUInt32LE(252)).toBe(bootRomCrc(block.subarray(0, 252)));
    const bigEndian = Buffer.from(block.subarray(252)).reverse();
    expect(bootRomCrc(Buffer.concat([block.subarray(0, 252), bigEndian])), 'residue of such a CRC').toBe(0);
  });

  it('does not take more code than fits, nor a loader that reaches into the parameters', () => {
    expect(() => bootBlock(boardNumber, Buffer.alloc(253))).toThrow('253');
    expect(() =>
      loader(boardNumber, bootBlock(boardNumber, Buffer.alloc(4)), Buffer.alloc(boardNumber('LOADER_BYTES') - 255)),
    ).toThrow('loader');
  });
});

describe('the image', () => {
  const body = madeBody(3000, 1);

  it('is a head page of generation 0 and the body', () => {
    const bytes = image(boardNumber, body, FACTS);
    expect(bytes.length).toBe(256 + body.length);
    expect(bytes.subarray(256)).toEqual(body);
    expect(bytes.readUInt32LE(16), 'generation').toBe(0);
    expect(bytes.subarray(32, 37).toString()).toBe('1.2.3');
    expect(bytes.subarray(48, 80)).toEqual(FACTS.module_sha256);
    // All but what only this image has is as the loader's tests compute a head.
    const plain = madeHead(body);
    expect(bytes.subarray(0, 24)).toEqual(plain.subarray(0, 24));
    expect(bytes.subarray(80, 112)).toEqual(plain.subarray(80, 112));
  });

  it('keeps its head’s checksum whole when it gets a generation', () => {
    const bare = image(boardNumber, body, { version: '', module_sha256: Buffer.alloc(32), export_table: 0 });
    const expected = madeHead(body, { generation: 9 });
    // The tests' head leaves the unused bytes 0, the true one 255: compare what both have.
    const marked = withGeneration(bare, 9);
    expect(marked.subarray(0, 112)).toEqual(expected.subarray(0, 112));
    expect(marked.readUInt32LE(248)).not.toBe(bare.readUInt32LE(248));
  });

  it('does not take a body that is too long', () => {
    expect(() => image(boardNumber, Buffer.alloc(boardNumber('BODY_MOST') + 4), FACTS)).toThrow('at most');
  });
});

describe('the UF2 file', () => {
  const loaderBytes = loader(boardNumber, bootBlock(boardNumber, Buffer.from('boot')), madeBody(700, 2));
  const imageBytes = image(boardNumber, madeBody(5000, 3), FACTS);
  const file = uf2(boardNumber, loaderBytes, imageBytes);
  const blocks = Array.from({ length: file.length / 512 }, (_, i) => file.subarray(i * 512, i * 512 + 512));

  // Layout of a block: the UF2 specification as published (microsoft/uf2 README; memory).
  it('is made of numbered blocks with both magic numbers, 256 bytes each, for the RP2040', () => {
    expect(file.length % 512).toBe(0);
    blocks.forEach((block, i) => {
      const words = Array.from({ length: 8 }, (_, k) => block.readUInt32LE(4 * k));
      expect([...words.slice(0, 3), ...words.slice(4)]).toEqual([
        ...[0x0a324655, 0x9e5d5157, 0x2000],
        ...[256, i, blocks.length, 0xe48bff56],
      ]);
      expect(block.readUInt32LE(508)).toBe(0x0ab16f30);
    });
  });

  it('fills whole sectors, each place once, with the loader, the image as generation 1, and an empty second slot', () => {
    const chip = Buffer.alloc(boardNumber('FLASH_BYTES'), 0xaa);
    const places = new Set<number>();
    for (const block of blocks) {
      const at = block.readUInt32LE(12) - boardNumber('FLASH_BASE');
      expect(places.has(at)).toBe(false);
      places.add(at);
      block.copy(chip, at, 32, 32 + 256);
    }
    const perSector = new Map<number, number>();
    for (const at of places) perSector.set(at >> 12, (perSector.get(at >> 12) ?? 0) + 1);
    expect([...perSector.values()].every((count) => count === 16)).toBe(true);
    expect(chip.subarray(0, loaderBytes.length)).toEqual(loaderBytes);
    const slot = boardNumber('SLOT_0_AT');
    expect(chip.subarray(slot, slot + imageBytes.length)).toEqual(withGeneration(imageBytes, 1));
    expect(chip.readUInt32LE(slot + 16)).toBe(1);
    expect(chip.subarray(boardNumber('SLOT_1_AT'), boardNumber('SLOT_1_AT') + 4096).every((byte) => byte === 255)).toBe(
      true,
    );
    expect(chip[boardNumber('KEPT_AT')], 'parameters are left alone').toBe(0xaa);
  });
});
