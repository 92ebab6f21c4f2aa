import { BOARD_NUMBER_ROWS } from '../../firmware/wire/board-rows.js';

const BLOCK = BOARD_NUMBER_ROWS.find((row) => row.name === 'BOOT_BLOCK_BYTES')!.value;
const POLYNOMIAL = 0x04c11db7;

/** CRC-32 as the boot ROM computes it: most significant bit first, from all ones, not inverted (datasheet 2.8.1.3.1). */
export function bootCrc(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = (crc << 1) ^ (crc < 0 ? POLYNOMIAL : 0);
  }
  return crc >>> 0;
}

/** The boot block at the start of this flash, or undefined when the ROM would not run it. */
export function bootBlock(flash: Uint8Array): Uint8Array | undefined {
  const block = flash.slice(0, BLOCK);
  const expected = new DataView(block.buffer).getUint32(BLOCK - 4, true);
  return bootCrc(block.subarray(0, BLOCK - 4)) === expected ? block : undefined;
}
