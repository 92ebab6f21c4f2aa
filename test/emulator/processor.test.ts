/** The board's processor against the emulator package's, instruction by instruction, and its cycles. */
import { RP2040 } from 'rp2040js';
import { describe, expect, it } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { CODE, DATA, freshProcessor, NOP, PC, place, processor, RAM, SP, STACK, words } from './bare-processor.js';

/** Instructions of the first halfword; the second, where there is one, is drawn with it. */
const KINDS: Readonly<Record<string, (draw: () => number) => number[]>> = {
  'shifts and sums of low registers': (draw) => [draw() & 0x1fff],
  'moves, comparisons and sums of bytes': (draw) => [0x2000 | (draw() & 0x1fff)],
  'data processing': (draw) => [0x4000 | (draw() & 0x3ff)],
  'extensions and reversals': (draw) => [[0xb200, 0xba00, 0xba40, 0xbac0][draw() & 3] | (draw() & 0x3f)],
  'sums with the stack pointer': (draw) => [[0xb000, 0xa800][draw() & 1] | (draw() & 0xff)],
  'moves of high registers': (draw) => [0x4600 | (draw() & 0x3f) | ((draw() & 1) << 7)],
  'comparisons of high registers': (draw) => [0x4500 | (draw() & 0x3f) | 0x80],
  'conditional branches': (draw) => [0xd000 | ((draw() % 14) << 8) | (draw() & 0xff)],
  branches: (draw) => [0xe000 | (draw() & 0x7ff)],
  calls: (draw) => [0xf000 | (draw() & 0x7ff), 0xf800 | (draw() & 0x7ff)],
  'loads and stores with an offset': (draw) => [0x6000 | ((draw() % 0x3000) & ~7) | (draw() & 7)],
  'loads and stores of registers': (draw) => [0x5000 | (draw() & 0xfff)],
  'loads and stores on the stack': (draw) => [0x9000 | (draw() & 0xfff)],
  'push and pop without the program counter': (draw) => [[0xb400, 0xbc00][draw() & 1] | (draw() & 0xff)],
  'several registers': (draw) => [0xc000 | (draw() & 0xfff)],
};

/**
 * Where the package differs from the ARMv6-M manual (DDI 0419, the instructions' pseudo-code) its flag or result is
 * not compared: shifts by a register beyond 32 or by 0 change its carry; sums with carry get a wrong overflow when the
 * carry alone overflows; ROR by 0 touches the carry; and a base register within its own list is taken back by STM.
 */
function incomparable(code: number, r: readonly number[]): { readonly flags: boolean; readonly all: boolean } {
  const kind = (code >>> 6) & 15;
  const data = code >>> 10 === 0x10;
  const by_register = data && [2, 3, 4, 7].includes(kind);
  const by = r[(code >>> 3) & 7] & 255;
  const carries = data && (kind === 5 || kind === 6);
  const overflowing = carries && [0x7fffffff, 0x80000000, 0xffffffff].includes(r[(code >>> 3) & 7] >>> 0);
  const carried = carries && [0x7fffffff, 0x80000000, 0xffffffff].includes(r[code & 7] >>> 0);
  const store_multiple = code >>> 11 === 24 && (code & (1 << ((code >>> 8) & 7))) !== 0;
  return { flags: (by_register && (by === 0 || by >= 32)) || overflowing || carried, all: store_multiple };
}

/** Code, data and stack: offsets in the memory that an instruction can reach. */
const RANGES = [
  [CODE - RAM, CODE - RAM + 8],
  [DATA - RAM, DATA - RAM + 0x800],
  [STACK - RAM - 0x200, STACK - RAM + 0x500],
] as const;

freshProcessor();

describe('an instruction does what the emulator package has it do', () => {
  const chip = new RP2040();
  for (const [name, make] of Object.entries(KINDS)) {
    it(name, () => {
      const random = new Random(name.length);
      let compared = 0;
      for (let trial = 0; trial < 3000; trial++) {
        const codes = make(() => random.next_u32() >>> 0);
        const memory_kind = codes[0] >= 0x5000 && codes[0] < 0xd000 && !(codes[0] >= 0xa000 && codes[0] < 0xb400);
        // For loads and stores, addresses and offsets that stay in memory and on their boundaries.
        const registers = Array.from({ length: 15 }, (_, n) => {
          if (memory_kind) return n < 4 ? DATA + 4 * (random.next_u32() & 0xff) : 4 * (random.next_u32() & 0x3f);
          const edge = [0, 1, -1, 31, 32, 0x7fffffff, -0x80000000][random.next_u32() & 15];
          return edge ?? random.next_u32();
        });
        if (codes[0] >= 0x5000 && codes[0] < 0x6000) codes[0] = (codes[0] & ~0x1f8) | ((trial & 3) << 3) | (4 << 6);
        else if (memory_kind && codes[0] < 0x9000) codes[0] = (codes[0] & ~0x38) | ((trial & 3) << 3);
        else if (codes[0] >= 0xc000 && codes[0] < 0xd000) codes[0] = (codes[0] & ~0x700) | ((trial & 3) << 8);
        registers[SP] = STACK - 4 * (random.next_u32() & 0x3f);
        for (let n = 0; n < 0x200; n++) words[((DATA - RAM) >> 2) + n] = random.next_u32();
        for (let n = -64; n < 256; n++) words[((STACK - RAM) >> 2) + n] = random.next_u32();
        place(CODE, ...codes, NOP);
        const unlike = incomparable(codes[0], registers);
        if (unlike.all) continue;
        const flags = random.next_u32();
        const { core } = chip;
        for (const [from, to] of RANGES) chip.sram.set(processor.memory.subarray(from, to), from);
        core.registers.set(registers);
        core.PC = CODE;
        core.N = (flags & 1) !== 0;
        core.Z = (flags & 3) === 2;
        core.C = (flags & 4) !== 0;
        core.V = (flags & 8) !== 0;
        processor.r.set(registers);
        processor.r[PC] = CODE;
        processor.result = core.N ? -1 : core.Z ? 0 : 1;
        processor.carry = core.C ? 1 : 0;
        processor.overflow = core.V ? 1 : 0;
        core.executeInstruction();
        processor.runUntil(processor.cycles + 1);
        const what = `${codes.map((code) => code.toString(16)).join(' ')} in trial ${trial}`;
        const registers_now = new Uint32Array(processor.r);
        if (registers_now.some((value, n) => value !== core.registers[n])) {
          expect([...registers_now], what).toEqual([...core.registers]);
        }
        if (!unlike.flags) {
          const mine = [processor.result < 0, processor.result === 0, processor.carry === 1, processor.overflow === 1];
          const theirs = [core.N, core.Z, core.C, core.V];
          if (mine.some((flag, n) => flag !== theirs[n])) expect(mine, what).toEqual(theirs);
        }
        for (const [from, to] of RANGES) {
          const same = Buffer.compare(processor.memory.subarray(from, to), chip.sram.subarray(from, to)) === 0;
          if (!same) expect(processor.memory.subarray(from, to), what).toEqual(chip.sram.subarray(from, to));
        }
        compared++;
      }
      expect(compared).toBeGreaterThan(1000);
    });
  }
});

describe('cycles', () => {
  // Cortex-M0+ technical reference manual (ARM DDI 0484), table 3-1: seen by way of the emulator package, but for PUSH
  // and POP with LR and PC, where the table counts every register.
  const timed: readonly (readonly [string, number[], number])[] = [
    ['a sum', [0x1840], 1],
    ['a product', [0x4348], 1],
    ['a load', [0x6801], 2],
    ['a store', [0x6001], 2],
    ['a branch', [0xe000], 2],
    ['a branch not taken', [0xd1ff], 1],
    ['a call', [0xf000, 0xf802], 3],
    ['a push of four registers and LR', [0xb50f], 6],
    ['a load of three registers', [0xc80e], 4],
  ];
  for (const [name, codes, cycles] of timed) {
    it(`${cycles} for ${name}`, () => {
      processor.r[0] = DATA;
      processor.result = 0;
      place(CODE, ...codes, NOP, NOP, NOP, NOP);
      const before = processor.cycles;
      processor.runUntil(before + 1);
      expect(processor.cycles - before).toBe(cycles);
    });
  }
});
