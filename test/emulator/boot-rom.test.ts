/** A boot ROM from a file in place of the model. No real one is here: the one that runs is our own, small-boot-rom.S. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { EmulatedBoard, romStart } from '../../sim/emulator/index.js';
import { ARM_GCC } from '../firmware/port-board.js';
import { describeAgainst } from '../reference/support.js';
import { thrownBy } from '../support/thrown.js';
import { loadImage, loadLoader } from './images.js';

const S_ns = 1e9;

function assembled(gcc: string): Uint8Array {
  const source = fileURLToPath(new URL('small-boot-rom.S', import.meta.url));
  const folder = mkdtempSync(join(tmpdir(), 'standoff-rom-'));
  const [elf, binary] = [join(folder, 'rom.elf'), join(folder, 'rom.bin')];
  execFileSync(gcc, ['-mcpu=cortex-m0plus', '-mthumb', '-nostdlib', '-Wl,-Ttext=0,-e,0', '-o', elf, source]);
  execFileSync(gcc.replace(/gcc$/, 'objcopy'), ['-O', 'binary', elf, binary]);
  return readFileSync(binary);
}

/** Bytes that are taken for a boot ROM; what they do is not looked at. */
function plausible(change: (rom: Uint8Array, view: DataView) => void = () => {}): Uint8Array {
  const rom = new Uint8Array(16_384);
  const view = new DataView(rom.buffer);
  view.setUint32(0, 0x20041f00, true);
  view.setUint32(4, 0xef, true);
  rom.set([0x4d, 0x75, 1, 2], 0x10);
  change(rom, view);
  return rom;
}

describeAgainst(ARM_GCC, 'an emulated board with a boot ROM of its own', (gcc) => {
  const made = (boot_rom: Uint8Array) => EmulatedBoard.create({ loader: loadLoader(), image: loadImage(), boot_rom });

  it('starts through it, to the tick, after power-up and after a reset', async () => {
    const board = await made(assembled(gcc));
    const { processor } = board.chip;
    expect(processor.r[15], 'the first instruction is of the ROM').toBe(0x18);
    const ticks = () => board.runUntil(() => board.tick.count > 3, S_ns);
    expect(ticks()).toBe(true);
    board.pressReset();
    board.tick.count = 0;
    expect(processor.r[15]).toBe(0x18);
    expect(ticks()).toBe(true);
    expect(board.problems.text()).toBe('');
  });

  it('does not start through one that jumps elsewhere', async () => {
    const rom = Uint8Array.from(assembled(gcc));
    const at = Buffer.from(rom).indexOf(Buffer.from([0x01, 0x1f, 0x04, 0x20]));
    expect(at).toBeGreaterThan(0);
    rom[at + 1] = 0x0f;
    const board = await made(rom);
    expect(board.runUntil(() => board.tick.count > 0, S_ns)).toBe(false);
  });

  it('cannot write to it, and finds nothing behind its end', async () => {
    const { chip } = await made(assembled(gcc));
    const before = chip.bus.read(0x10, 4);
    chip.bus.write(0x10, 4, 0);
    expect([chip.bus.read(0x10, 4), before]).toEqual([0x0301754d, 0x0301754d]);
    expect(chip.bus.fetch(16_384)).toBe(-1);
  });
});

describe('a file for the boot ROM', () => {
  it('is taken if it looks like one', () => expect(romStart(plausible())).toEqual({ stack: 0x20041f00, entry: 0xef }));

  it.each([
    ['too short', plausible().subarray(1), 'rom-size', 'has 16383 bytes, not 16384'],
    ['the whole flash', new Uint8Array(2 ** 21), 'rom-size', 'has 2097152 bytes, not 16384'],
    ['UF2', plausible((rom) => rom.set(Buffer.from('UF2\n'))), 'rom-form', 'is a UF2 file'],
    ['an ELF file', plausible((rom) => rom.set(Buffer.from('\x7fELF'))), 'rom-form', 'is an ELF file'],
    ['hex as text', Buffer.from(':020000021000EC\n'), 'rom-form', 'is a hex file, as text'],
    ['nothing read', new Uint8Array(16_384).fill(255), 'rom-form', 'is 0xff throughout'],
    ['another magic', plausible((rom) => rom.fill(0x6d, 0x10, 0x11)), 'rom-form', 'has 0x6d 0x75 0x1 at 0x10'],
    ['another format', plausible((rom) => rom.fill(2, 0x12, 0x13)), 'rom-form', 'has 0x4d 0x75 0x2 at 0x10'],
    ['no version', plausible((rom) => rom.fill(0, 0x13, 0x14)), 'rom-form', 'has version 0'],
    ['a stack nowhere', plausible((_, view) => view.setUint32(0, 0x10000000, true)), 'rom-form', '0x10000000'],
    ['an entry outside', plausible((_, view) => view.setUint32(4, 0x4001, true)), 'rom-form', '0x4001'],
    ['an entry that is no Thumb', plausible((_, view) => view.setUint32(4, 0xee, true)), 'rom-form', 'at 0xee'],
  ])('%s is refused', (_, rom, code, words) => {
    const error = thrownBy(() => romStart(rom, 'my.bin'));
    expect(error).toMatchObject({ code, what: expect.stringContaining(words) });
    expect(error).toMatchObject({
      what: expect.stringMatching(/^the boot ROM my\.bin /),
      remedy: expect.stringMatching(/16384 bytes from address 0/),
    });
  });
});
