/** The board's processor against the emulator package's, instruction by instruction, and what the package leaves out. */
import { RP2040 } from 'rp2040js';
import { beforeEach, describe, expect, it } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { FIRST_INTERRUPT, PEND_SV, Processor, SUPERVISOR_CALL, SYS_TICK } from '../../sim/emulator/chip/processor.js';
import type { Bus } from '../../sim/emulator/chip/thumb.js';

const RAM = 0x20000000;
const CODE = RAM + 0x1000;
const DATA = RAM + 0x8000;
const STACK = RAM + 0x20000;
const SP = 13;
const PC = 15;
const NOP = 0xbf00;

class NoBus implements Bus {
  readonly touched: number[] = [];
  processor!: Processor;
  read(address: number): number {
    this.touched.push(address);
    this.processor.fault();
    return 0;
  }
  write(address: number): void {
    this.touched.push(address);
    this.processor.fault();
  }
  fetch(): number {
    return -1;
  }
}

let bus: NoBus;
let processor: Processor;
let words: Uint32Array;
let halves: Uint16Array;

beforeEach(() => {
  bus = new NoBus();
  processor = new Processor(bus);
  bus.processor = processor;
  words = new Uint32Array(processor.memory.buffer);
  halves = new Uint16Array(processor.memory.buffer);
  processor.reset(CODE, STACK);
});

const place = (at: number, ...codes: number[]) => halves.set(codes, (at - RAM) >> 1);
const word = (at: number) => words[(at - RAM) >> 2];
/** Runs for this many cycles. */
const run = (cycles: number) => {
  const end = processor.cycles + cycles;
  while (processor.cycles < end) processor.runUntil(end);
};

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

const BX_LR = 0x4770;
const SVC = 0xdf00;
const WFI = 0xbf30;
const BRANCH_TO_SELF = 0xe7fe;
const HANDLER = CODE + 0x400;
const vector = (exception: number, handler: number) => {
  words[exception] = handler | 1;
};

describe('exceptions', () => {
  beforeEach(() => {
    processor.vectors = RAM;
    for (let exception = 2; exception < 48; exception++) vector(exception, HANDLER);
    place(HANDLER, BRANCH_TO_SELF);
  });

  it('enters an interrupt with the frame on the stack and comes back where it was', () => {
    // Counts in r0; the handler counts in r1 and returns.
    place(CODE, 0x3001, 0xe7fd);
    place(HANDLER, 0x3101, BX_LR);
    processor.onEntry = () => processor.setInterrupt(5, false);
    processor.enabled = 1 << 5;
    run(10);
    const counted = processor.r[0];
    processor.setInterrupt(5, true);
    processor.r[4] = 77;
    run(100);
    expect(processor.exception).toBe(0);
    // The handler counted in r1, which the frame gave back.
    expect(processor.r[1]).toBe(0);
    expect(processor.r[4]).toBe(77);
    expect(processor.r[0]).toBeGreaterThan(counted);
    expect(processor.r[SP]).toBe(STACK);
  });

  it('spends 15 cycles on the way into an interrupt', () => {
    place(CODE, BRANCH_TO_SELF);
    processor.enabled = 1;
    let entered = 0;
    processor.onEntry = () => {
      entered = processor.cycles;
    };
    run(20);
    const asked = processor.cycles;
    processor.setInterrupt(0, true);
    run(10);
    // Cortex-M0+ technical reference manual: 15 cycles without wait states (from memory).
    expect(entered - asked).toBe(15);
  });

  it('answers the more urgent of two interrupts, and interrupts the other with it', () => {
    place(CODE, BRANCH_TO_SELF);
    processor.priorities.set([2, 1, 3], FIRST_INTERRUPT);
    processor.enabled = 7;
    const entered: number[] = [];
    processor.onEntry = (exception) => entered.push(exception - FIRST_INTERRUPT);
    processor.setInterrupt(0, true);
    run(40);
    processor.setInterrupt(2, true);
    run(40);
    processor.setInterrupt(1, true);
    run(40);
    expect(entered).toEqual([0, 1]);
  });

  it('answers a line that is still asserted again', () => {
    place(CODE, BRANCH_TO_SELF);
    place(HANDLER, BX_LR);
    processor.enabled = 1;
    let entries = 0;
    processor.onEntry = () => {
      if (++entries === 3) processor.setInterrupt(0, false);
    };
    processor.setInterrupt(0, true);
    run(400);
    expect(entries).toBe(3);
  });

  it('takes each pending system exception once, the most urgent first, and none that was withdrawn', () => {
    place(CODE, BRANCH_TO_SELF);
    place(HANDLER, BX_LR);
    processor.priorities[PEND_SV] = 3;
    processor.priorities[SYS_TICK] = 1;
    const entered: number[] = [];
    processor.onEntry = (exception) => entered.push(exception);
    processor.setPending(PEND_SV, true);
    processor.setPending(SYS_TICK, true);
    processor.setPending(SUPERVISOR_CALL, true);
    processor.setPending(SUPERVISOR_CALL, false);
    run(400);
    expect(entered).toEqual([SYS_TICK, PEND_SV]);
  });

  it('sleeps until an interrupt, and a masked one wakes it without being answered', () => {
    place(CODE, WFI, 0x2001, BRANCH_TO_SELF);
    processor.enabled = 1;
    processor.masked = 1;
    let entries = 0;
    processor.onEntry = () => entries++;
    run(50);
    expect(processor.waiting).toBe(true);
    expect(processor.r[0]).toBe(0);
    processor.setInterrupt(0, true);
    run(50);
    expect(processor.r[0]).toBe(1);
    expect(entries).toBe(0);
  });

  it('takes a supervisor call', () => {
    place(CODE, SVC, BRANCH_TO_SELF);
    const entered: number[] = [];
    processor.onEntry = (exception) => entered.push(exception);
    run(50);
    expect(entered).toEqual([11]);
  });
});

describe('what cannot be done is a hard fault', () => {
  const HARD_FAULT = 3;
  const faulting: Readonly<Record<string, () => void>> = {
    'a word off its boundary': () => {
      processor.r[0] = DATA + 2;
      place(CODE, 0x6801);
    },
    'a halfword off its boundary': () => {
      processor.r[0] = DATA + 1;
      place(CODE, 0x8001);
    },
    'a read where there is nothing': () => {
      processor.r[0] = 0x60000000;
      place(CODE, 0x6801);
    },
    'a write where there is nothing': () => {
      processor.r[0] = 0x60000000;
      place(CODE, 0x6001);
    },
    'an undefined instruction': () => place(CODE, 0xde00),
    'a breakpoint without a debugger': () => place(CODE, 0xbe00),
    'a branch into ARM state': () => {
      processor.r[0] = CODE;
      place(CODE, 0x4700);
    },
    'a write into the guarded stretch': () => {
      processor.guard_offset = DATA - RAM;
      processor.guard_bytes = 256;
      processor.r[0] = DATA + 252;
      place(CODE, 0x6001);
    },
  };
  for (const [name, make] of Object.entries(faulting)) {
    it(name, () => {
      processor.vectors = RAM;
      vector(HARD_FAULT, HANDLER);
      place(HANDLER, BRANCH_TO_SELF);
      make();
      place(CODE + 2, BRANCH_TO_SELF);
      const faults: number[] = [];
      processor.onFault = (address) => faults.push(address);
      run(60);
      expect(processor.exception).toBe(HARD_FAULT);
      expect(faults.length).toBe(1);
      // The frame holds the place of what could not be done.
      const at = name === 'a branch into ARM state' ? faults[0] : CODE;
      expect(word(processor.r[SP] + 24)).toBe(at);
    });
  }

  it('stands still when the fault handler faults', () => {
    processor.vectors = RAM;
    vector(HARD_FAULT, HANDLER);
    place(HANDLER, 0xde00);
    place(CODE, 0xde00);
    run(100);
    expect(processor.locked).toBe(true);
  });

  it('reads the guarded stretch and writes beside it', () => {
    processor.guard_offset = DATA - RAM;
    processor.guard_bytes = 256;
    processor.r[0] = DATA;
    processor.r[2] = DATA + 256;
    place(CODE, 0x6801, 0x6011, BRANCH_TO_SELF);
    run(20);
    expect(processor.exception).toBe(0);
  });
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
