import { describe, expect, it } from 'vitest';
import { FlashChip, type FlashOperation, halfDone, NO_TIMES, REAL_TIMES } from '../../sim/emulator/index.js';

const SECTOR = 4096;

class Bench {
  now_ns = 0;
  readonly misuse: string[] = [];
  readonly operations: FlashOperation[] = [];
  cuts = 0;
  readonly chip: FlashChip;

  constructor(times = NO_TIMES) {
    this.chip = new FlashChip(new Uint8Array(1 << 16).fill(0xff), () => this.now_ns);
    this.chip.times = times;
    this.chip.onMisuse = (what) => this.misuse.push(what);
    this.chip.onOperation = (operation) => this.operations.push(operation);
    this.chip.onPowerCut = () => this.cuts++;
  }

  command(...bytes: number[]): number[] {
    this.chip.select();
    const answer = bytes.map((byte) => this.chip.exchange(byte));
    this.chip.deselect();
    return answer;
  }

  program(at: number, ...bytes: number[]): void {
    this.command(0x06);
    this.command(0x02, at >> 16, (at >> 8) & 255, at & 255, ...bytes);
  }

  erase(at: number): void {
    this.command(0x06);
    this.command(0x20, at >> 16, (at >> 8) & 255, at & 255);
  }

  status(): number {
    return this.command(0x05, 0)[1];
  }
}

// Command set: Linux kernel, include/linux/mtd/spi-nor.h (WREN 06, WRDI 04, RDSR 05, READ 03, PP 02, SE 20, RDID 9F): seen.
describe('serial NOR flash', () => {
  it('answers its identification again and again', () => {
    expect(new Bench().command(0x9f, 0, 0, 0, 0).slice(1)).toEqual([0xef, 0x40, 0x15, 0xef]);
  });

  it('programs by clearing bits and never sets one', () => {
    const bench = new Bench();
    bench.program(0x100, 0x0f);
    bench.program(0x100, 0xf5);
    expect(bench.chip.memory[0x100]).toBe(0x05);
  });

  it('erases a block of 64 KiB at once, in a fraction of the time of its sectors', () => {
    const bench = new Bench(REAL_TIMES);
    bench.chip.memory.fill(0);
    bench.command(0x06);
    bench.command(0xd8, 0, 0x12, 0x34);
    expect(bench.chip.memory.every((byte) => byte === 0xff)).toBe(true);
    expect(bench.operations).toMatchObject([{ kind: 'erase', at: 0 }]);
    bench.now_ns = REAL_TIMES.block_erase_us * 1000 - 1;
    expect(bench.chip.busy).toBe(true);
    bench.now_ns++;
    expect(bench.chip.busy).toBe(false);
    expect(REAL_TIMES.block_erase_us).toBeLessThan((16 * REAL_TIMES.sector_erase_us) / 4);
  });

  it('sets the bits of one sector and no other when it erases', () => {
    const bench = new Bench();
    bench.chip.memory.fill(0);
    bench.erase(SECTOR + 77);
    const { memory } = bench.chip;
    expect(memory[SECTOR - 1]).toBe(0);
    expect(memory.subarray(SECTOR, 2 * SECTOR).every((byte) => byte === 0xff)).toBe(true);
    expect(memory[2 * SECTOR]).toBe(0);
  });

  it('reads on through the memory from the address given', () => {
    const bench = new Bench();
    bench.chip.memory.set([1, 2, 3], 0x2345);
    expect(bench.command(0x03, 0, 0x23, 0x45, 0, 0, 0).slice(4)).toEqual([1, 2, 3]);
  });

  it('wraps within the page', () => {
    const bench = new Bench();
    bench.program(0x1fe, 1, 2, 3, 4);
    const { memory } = bench.chip;
    expect([...memory.subarray(0x1fe, 0x200), ...memory.subarray(0x100, 0x102)]).toEqual([1, 2, 3, 4]);
    expect(memory[0x200]).toBe(0xff);
  });

  it('keeps the last 256 bytes of a longer program and says so', () => {
    const bench = new Bench();
    bench.program(0x100, ...Array.from({ length: 258 }, (_, n) => n & 255));
    expect([...bench.chip.memory.subarray(0x100, 0x103)]).toEqual([0, 1, 2]);
    expect(bench.misuse).toEqual(['258 bytes for one page']);
  });

  it('does nothing without write enable, and needs it again for each operation', () => {
    const bench = new Bench();
    bench.command(0x02, 0, 0, 0, 0);
    bench.command(0x20, 0, 0, 0);
    bench.program(0, 0x7f);
    bench.command(0x02, 0, 0, 1, 0);
    expect(bench.operations.length).toBe(1);
    expect([...bench.chip.memory.subarray(0, 2)]).toEqual([0x7f, 0xff]);
    expect(bench.misuse.length).toBe(3);
  });

  it('forgets write enable on write disable and when its power goes', () => {
    const bench = new Bench();
    bench.command(0x06);
    expect(bench.status()).toBe(2);
    bench.command(0x04);
    expect(bench.status()).toBe(0);
    bench.command(0x06);
    bench.chip.powerUp();
    expect(bench.status()).toBe(0);
  });

  it('drops an erase that is not four bytes long', () => {
    const bench = new Bench();
    bench.chip.memory.fill(0);
    bench.command(0x06);
    bench.command(0x20, 0, 0);
    expect(bench.chip.memory[0]).toBe(0);
    expect(bench.misuse).toEqual(['erase cut short']);
  });

  it('is busy for its time and deaf to all but the status', () => {
    const bench = new Bench(REAL_TIMES);
    bench.erase(0);
    expect(bench.status()).toBe(1);
    expect(bench.command(0x03, 0, 0, 0, 0)[4]).toBe(0xff);
    bench.program(0, 0);
    expect(bench.misuse.length).toBe(3);
    bench.now_ns = REAL_TIMES.sector_erase_us * 1000 - 1;
    expect(bench.status()).toBe(1);
    bench.now_ns++;
    expect(bench.status()).toBe(0);
    bench.program(0, 0);
    expect(bench.chip.memory[0]).toBe(0);
  });
});

describe('a power cut', () => {
  const cutAt = (moment: 'before' | 'half-way' | 'after') => {
    const bench = new Bench();
    bench.chip.cut = { operation: 1, moment };
    bench.program(0, 0x12, 0x34);
    bench.program(0x200, ...new Array<number>(256).fill(0));
    return bench;
  };

  it('comes at the operation that it is set for', () => {
    const bench = cutAt('after');
    expect(bench.cuts).toBe(1);
    expect(bench.operations.length).toBe(2);
    expect(bench.chip.memory[0]).toBe(0x12);
  });

  it('leaves nothing, some or all of the operation', () => {
    const cleared = (bench: Bench) => bench.chip.memory.subarray(0x200, 0x300).filter((byte) => byte !== 0xff).length;
    expect(cleared(cutAt('before'))).toBe(0);
    expect(cleared(cutAt('after'))).toBe(256);
    const half = cleared(cutAt('half-way'));
    expect(half).toBeGreaterThan(0);
    expect(half).toBeLessThanOrEqual(256);
  });

  it('half-way changes only bits that were to change, and not all of them', () => {
    const before = Uint8Array.from({ length: 256 }, (_, n) => (n * 7) & 255);
    const after = before.map((byte, n) => byte & ((n * 13) & 255));
    for (let number = 0; number < 6; number++) {
      const half = halfDone({ number, kind: 'program', at: 0, before, after });
      for (const [n, byte] of half.entries()) {
        expect(byte & ~before[n]).toBe(0);
        expect(after[n] & ~byte).toBe(0);
      }
      expect(half).not.toEqual(after);
      expect(half).not.toEqual(before);
    }
  });

  it('half-way through an erase may leave a sector of zeros', () => {
    const before = new Uint8Array(SECTOR).fill(0x5a);
    const half = halfDone({ number: 2, kind: 'erase', at: 0, before, after: new Uint8Array(SECTOR).fill(0xff) });
    expect(half.every((byte) => byte === 0)).toBe(true);
  });
});
