// A boot ROM that a person has read out of a chip of their own, in place of the model in chip.ts, which is its one neighbour.
import { StandoffError } from '../../base/index.js';
import { RAM_AT, RAM_BYTES } from './registers.js';

/** The ROM lies from address 0 (data sheet of the RP2040, 2.2.1). */
const ROM_BYTES = 16_384;
const MAGIC_AT = 0x10;
const VERSION_AT = 0x13;

/** Where the processor begins: the first two words of the ROM (ARM DDI 0419, B1.5.3). */
export interface RomStart {
  readonly stack: number;
  readonly entry: number;
}

const hex = (value: number): string => `0x${value.toString(16)}`;
const LIKE: readonly (readonly [begin: readonly number[], what: string])[] = [
  [[0x55, 0x46, 0x32, 0x0a], 'a UF2 file'],
  [[0x7f, 0x45, 0x4c, 0x46], 'an ELF file'],
  [[0x3a], 'a hex file, as text'],
];

/**
 * Looks whether these bytes can be a boot ROM: length; 'M', 'u', 1 and the version from 0x10 (data sheet 2.8.3); the stack in
 * the memory, the first instruction in the ROM.
 * @param file as the user named it
 * @throws StandoffError `rom-size`, `rom-form`
 */
export function romStart(rom: Uint8Array, file = ''): RomStart {
  const remedy = `give the ${ROM_BYTES} bytes from address 0 of your own chip, as a debug probe reads them through its SWD pins`;
  const refuse = (code: 'rom-size' | 'rom-form', what: string): never => {
    throw new StandoffError(code, `the boot ROM ${file === '' ? '' : `${file} `}${what}`, remedy);
  };
  const like = LIKE.find(([begin]) => begin.every((byte, at) => rom[at] === byte));
  if (like) refuse('rom-form', `is ${like[1]}, not the bytes themselves`);
  if (rom.length !== ROM_BYTES) refuse('rom-size', `has ${rom.length} bytes, not ${ROM_BYTES}`);
  if (rom.every((byte) => byte === rom[0])) refuse('rom-form', `is ${hex(rom[0])} throughout: nothing was read`);
  const view = new DataView(rom.buffer, rom.byteOffset, rom.length);
  const magic = [...rom.subarray(MAGIC_AT, VERSION_AT)];
  if (magic.join() !== '77,117,1')
    refuse('rom-form', `has ${magic.map(hex).join(' ')} at ${hex(MAGIC_AT)}, not 0x4d 0x75 0x1 ('M', 'u', 1)`);
  if (rom[VERSION_AT] === 0) refuse('rom-form', `has version 0 at ${hex(VERSION_AT)}; the first is 1`);
  const [stack, entry] = [view.getUint32(0, true), view.getUint32(4, true)];
  if (stack % 4 !== 0 || stack <= RAM_AT || stack > RAM_AT + RAM_BYTES)
    refuse('rom-form', `begins with the stack at ${hex(stack)}, which is not in the memory`);
  if (entry % 2 === 0 || entry >= ROM_BYTES)
    refuse('rom-form', `has its first instruction at ${hex(entry)}, which is not in it (bit 0 must be set)`);
  return { stack, entry };
}
