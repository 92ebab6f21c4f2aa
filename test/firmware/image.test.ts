import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { crc32 } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { bootRomCrc, uf2 } from '../../firmware/image/pack.mjs';
import { layoutRow, placed } from '../../firmware/wire/link-rows.js';
import { boardNumber } from './made-image.js';

const shipped = (name: string): Buffer => readFileSync(new URL(`../../firmware/image/${name}`, import.meta.url));
const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

interface Hashes {
  readonly version: string;
  readonly module_sha256: string;
  readonly body_bytes: number;
  readonly static_ram_bytes: number;
  readonly sha256: Readonly<Record<string, string>>;
}

describe('what is shipped in firmware/image', () => {
  const hashes = JSON.parse(shipped('hashes.json').toString()) as Hashes;
  const bytes = shipped('standoff.image');
  const field = (name: string): number =>
    bytes.readUInt32LE(placed(layoutRow('image_head')).fields.find((row) => row.name === name)!.offset);

  it.each(Object.entries(hashes.sha256))('has %s with the hash that it names', (name, hash) => {
    expect(sha256(shipped(name))).toBe(hash);
  });

  it('holds the control module that was built here and simulated', () => {
    const wasm = new URL('../../dist/firmware/control.wasm', import.meta.url);
    expect(existsSync(wasm), 'npm run build first').toBe(true);
    expect(hashes.module_sha256).toBe(sha256(readFileSync(wasm)));
    expect(bytes.subarray(48, 80).toString('hex')).toBe(hashes.module_sha256);
  });

  it('is an image whose head and body match their checksums', () => {
    expect(field('magic')).toBe(boardNumber('IMAGE_MAGIC'));
    expect(field('head_crc')).toBe(crc32(bytes.subarray(0, 248)));
    expect(field('length')).toBe(bytes.length - 256);
    expect(field('body_crc')).toBe(crc32(bytes.subarray(256)));
    expect(bytes.subarray(80, 112).toString('hex')).toBe(sha256(bytes.subarray(256)));
    expect(field('generation')).toBe(0);
  });

  it('keeps to its sizes: body at most 64 KiB, static memory at most 32 KiB', () => {
    expect(hashes.body_bytes).toBe(bytes.length - 256);
    expect(hashes.body_bytes).toBeLessThanOrEqual(64 * 1024);
    expect(hashes.static_ram_bytes).toBeLessThanOrEqual(32 * 1024);
  });

  it('starts in its body, with its stack in the box’s memory', () => {
    const [stack, start] = [bytes.readUInt32LE(256), bytes.readUInt32LE(260)];
    const [body, ram] = [boardNumber('BODY_RAM_AT'), boardNumber('BOX_RAM_AT')];
    expect(start % 2, 'Thumb').toBe(1);
    expect(start > body && start < body + hashes.body_bytes).toBe(true);
    expect(stack > ram && stack <= ram + boardNumber('BOX_RAM_BYTES')).toBe(true);
    const table = field('export_table');
    expect(table > body && table < body + hashes.body_bytes).toBe(true);
  });

  it('has a loader with a boot block that the boot ROM takes', () => {
    const loader = shipped('loader.bin');
    expect(loader.length).toBeLessThanOrEqual(boardNumber('LOADER_BYTES'));
    expect(loader.readUInt32LE(252)).toBe(bootRomCrc(loader.subarray(0, 252)));
  });

  it('has a UF2 file of that loader and that image', () => {
    expect(shipped('standoff.uf2')).toEqual(uf2(boardNumber, shipped('loader.bin'), bytes));
  });
});
