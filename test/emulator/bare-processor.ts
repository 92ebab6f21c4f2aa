/** A processor with nothing around it but its memory, made again before each test of a file that calls `freshProcessor`. */
import { beforeEach } from 'vitest';
import { Processor } from '../../sim/emulator/chip/processor.js';
import type { Bus } from '../../sim/emulator/chip/thumb.js';

export const RAM = 0x20000000;
export const CODE = RAM + 0x1000;
export const DATA = RAM + 0x8000;
export const STACK = RAM + 0x20000;
export const SP = 13;
export const PC = 15;
export const NOP = 0xbf00;

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

export let bus: NoBus;
export let processor: Processor;
export let words: Uint32Array;
export let halves: Uint16Array;

/** Call it in each file: the files of a process share this module, and a hook of the module itself would be the first file's alone. */
export function freshProcessor(): void {
  beforeEach(() => {
    bus = new NoBus();
    processor = new Processor(bus);
    bus.processor = processor;
    words = new Uint32Array(processor.memory.buffer);
    halves = new Uint16Array(processor.memory.buffer);
    processor.reset(CODE, STACK);
  });
}

export const place = (at: number, ...codes: number[]) => halves.set(codes, (at - RAM) >> 1);
export const word = (at: number) => words[(at - RAM) >> 2];
/** Runs for this many cycles. */
export const run = (cycles: number) => {
  const end = processor.cycles + cycles;
  while (processor.cycles < end) processor.runUntil(end);
};
