/** What the built programs are packed into: boot block, loader, image and UF2. Pure functions of bytes. */
import { createHash } from 'node:crypto';
import { crc32 } from 'node:zlib';
import { BOARD_NUMBER_ROWS } from '../../dist/firmware/wire/board-rows.js';
import { layoutRow, placed } from '../../dist/firmware/wire/link-rows.js';
import { writeUf2 } from '../../dist/sim/link/index.js';

const NUMBERS = new Map(BOARD_NUMBER_ROWS.map(({ name, value }) => [name, value]));
const HEAD = placed(layoutRow('image_head'));
const PAGE = NUMBERS.get('PAGE_BYTES');
const SECTOR = NUMBERS.get('SECTOR_BYTES');

/**
 * CRC-32 as the boot ROM computes it: polynomial 04C11DB7, from FFFFFFFF, nothing reflected, nothing inverted at the end.
 * Source: RP2040 data sheet, 2.8.1.3.1 Checksum (seen). "123456789" gives 0376E6E7 (CRC-32/MPEG-2, memory).
 */
export function bootRomCrc(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = (crc << 1) ^ (crc < 0 ? 0x04c11db7 : 0);
  }
  return crc >>> 0;
}

/** The second stage, filled to 252 bytes and ended by its CRC, little-endian. */
export function bootBlock(code) {
  const block = Buffer.alloc(NUMBERS.get('BOOT_BLOCK_BYTES'));
  if (code.length > block.length - 4) throw new Error(`boot block: ${code.length} bytes, at most ${block.length - 4}`);
  code.copy(block);
  block.writeUInt32LE(bootRomCrc(block.subarray(0, -4)), block.length - 4);
  return block;
}

/** Boot block and resident loader as they stand at the start of the chip. */
export function loader(block, resident) {
  const bytes = Buffer.concat([block, resident]);
  const most = NUMBERS.get('LOADER_BYTES');
  if (bytes.length > most) throw new Error(`loader: ${bytes.length} bytes, at most ${most}`);
  return bytes;
}

/** A head page; what is not given stays 0. */
function headPage(fields) {
  const page = Buffer.alloc(PAGE, 0xff);
  page.fill(0, 0, HEAD.fields.find(({ name }) => name === 'unused').offset);
  for (const { name, type, offset } of HEAD.fields) {
    const value = fields[name];
    if (value === undefined) continue;
    if (type === 'u32') page.writeUInt32LE(value, offset);
    else if (type === 'u16') page.writeUInt16LE(value, offset);
    else Buffer.from(value).copy(page, offset);
  }
  const { offset } = HEAD.fields.find(({ name }) => name === 'head_crc');
  page.writeUInt32LE(crc32(page.subarray(0, offset)), offset);
  return page;
}

const headOf = (body, generation, { version, module_sha256, export_table }) =>
  headPage({
    magic: NUMBERS.get('IMAGE_MAGIC'),
    format: NUMBERS.get('IMAGE_FORMAT'),
    board: NUMBERS.get('BOARD_KIND'),
    length: body.length,
    body_crc: crc32(body),
    generation,
    entry: NUMBERS.get('BODY_RAM_AT'),
    export_table,
    version,
    module_sha256,
    image_sha256: createHash('sha256').update(body).digest(),
  });

/** The file that is flashed: head page with generation 0, and the body. */
export function image(body, facts) {
  const most = NUMBERS.get('BODY_MOST');
  if (body.length > most) throw new Error(`image: ${body.length} bytes, at most ${most}`);
  return Buffer.concat([headOf(body, 0, facts), body]);
}

/** The same image with another generation, as a slot holds it. */
export function withGeneration(imageBytes, generation) {
  const bytes = Buffer.from(imageBytes);
  const place = (wanted) => HEAD.fields.find(({ name }) => name === wanted).offset;
  bytes.writeUInt32LE(generation, place('generation'));
  bytes.writeUInt32LE(crc32(bytes.subarray(0, place('head_crc'))), place('head_crc'));
  return bytes;
}

/** Filled with FF to whole sectors: the boot ROM's USB drive erases a sector before it writes into it. */
const sectors = (bytes) => Buffer.concat([bytes, Buffer.alloc((SECTOR - (bytes.length % SECTOR)) % SECTOR, 0xff)]);

/** Loader, image as generation 1 in slot 0, and an empty head for slot 1, as UF2. */
export function uf2(loaderBytes, imageBytes) {
  const at = (name) => NUMBERS.get('FLASH_BASE') + NUMBERS.get(name);
  const file = writeUf2([
    { address: at('LOADER_AT'), bytes: sectors(loaderBytes) },
    { address: at('SLOT_0_AT'), bytes: sectors(withGeneration(imageBytes, 1)) },
    { address: at('SLOT_1_AT'), bytes: Buffer.alloc(SECTOR, 0xff) },
  ]);
  return Buffer.from(file);
}
