/**
 * What the built programs are packed into: boot block, loader, image and UF2. Pure functions of bytes and of the numbers
 * of a board, given as `board(name)`.
 */
import { createHash } from 'node:crypto';
import { crc32 } from 'node:zlib';
import { layoutRow, placed } from '../../dist/tools/firmware/wire/link-rows.js';
import { FORMAT_NUMBER_ROWS, numberOf } from '../../dist/tools/firmware/wire/number-rows.js';
import { writeUf2 } from '../../dist/tools/sim/link/index.js';

const HEAD = placed(layoutRow('image_head'));
const format = (name) => numberOf(FORMAT_NUMBER_ROWS, name);

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
export function bootBlock(board, code) {
  const block = Buffer.alloc(board('BOOT_BLOCK_BYTES'));
  if (code.length > block.length - 4) throw new Error(`boot block: ${code.length} bytes, at most ${block.length - 4}`);
  code.copy(block);
  block.writeUInt32LE(bootRomCrc(block.subarray(0, -4)), block.length - 4);
  return block;
}

/** Boot block and resident loader as they stand at the start of the chip. */
export function loader(board, block, resident) {
  const bytes = Buffer.concat([block, resident]);
  const most = board('LOADER_BYTES');
  if (bytes.length > most) throw new Error(`loader: ${bytes.length} bytes, at most ${most}`);
  return bytes;
}

/** A head page; what is not given stays 0. */
function headPage(bytes, fields) {
  const page = Buffer.alloc(bytes, 0xff);
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

const headOf = (board, body, generation, { version, module_sha256, export_table }) =>
  headPage(board('PAGE_BYTES'), {
    magic: format('IMAGE_MAGIC'),
    format: format('IMAGE_FORMAT'),
    board: board('BOARD_KIND'),
    length: body.length,
    body_crc: crc32(body),
    generation,
    entry: board('BODY_RAM_AT'),
    export_table,
    version,
    module_sha256,
    image_sha256: createHash('sha256').update(body).digest(),
  });

/** The file that is flashed: head page with generation 0, and the body. */
export function image(board, body, facts) {
  const most = board('BODY_MOST');
  if (body.length > most) throw new Error(`image: ${body.length} bytes, at most ${most}`);
  return Buffer.concat([headOf(board, body, 0, facts), body]);
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
const sectors = (bytes, sector) =>
  Buffer.concat([bytes, Buffer.alloc((sector - (bytes.length % sector)) % sector, 0xff)]);

/** Loader, image as generation 1 in slot 0, and an empty head for slot 1, as UF2. */
export function uf2(board, loaderBytes, imageBytes) {
  const at = (name) => board('FLASH_BASE') + board(name);
  const sector = board('SECTOR_BYTES');
  const file = writeUf2([
    { address: at('LOADER_AT'), bytes: sectors(loaderBytes, sector) },
    { address: at('SLOT_0_AT'), bytes: sectors(withGeneration(imageBytes, 1), sector) },
    { address: at('SLOT_1_AT'), bytes: Buffer.alloc(sector, 0xff) },
  ]);
  return Buffer.from(file);
}
