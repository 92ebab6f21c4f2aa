/** What the emulator package's processor leaves out: exceptions and faults. */
import { beforeEach, describe, expect, it } from 'vitest';
import { FIRST_INTERRUPT, PEND_SV, SUPERVISOR_CALL, SYS_TICK } from '../../sim/emulator/chip/processor.js';
import { CODE, DATA, freshProcessor, place, processor, RAM, run, SP, STACK, word, words } from './bare-processor.js';

const BX_LR = 0x4770;
const SVC = 0xdf00;
const WFI = 0xbf30;
const BRANCH_TO_SELF = 0xe7fe;
const HANDLER = CODE + 0x400;
const vector = (exception: number, handler: number) => {
  words[exception] = handler | 1;
};

freshProcessor();

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
