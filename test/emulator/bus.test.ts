/** The way from processor to flash chip and peripherals, used as a program would, and misused. */
import { beforeEach, describe, expect, it } from 'vitest';
import { EmulatedBoard, NO_TIMES, REAL_TIMES } from '../../sim/emulator/index.js';
import { loadLoader, sleepingImage, started } from './images.js';

const IMAGE = sleepingImage(4000, 9);
const SSI = 0x18000000;
const QSPI_SELECT = 0x4001800c;
const FLASH = 0x10000000;
const UNCACHED = 0x13000000;
const XIP_FLUSH = 0x14000004;
const FREE_SECTOR = 0x100000;
const LOW = 2 << 8;
const HIGH = 3 << 8;

let board: EmulatedBoard;

beforeEach(async () => {
  board = await EmulatedBoard.create({ loader: loadLoader(), image: IMAGE, times: NO_TIMES });
  expect(started(board, [IMAGE])).toBe(IMAGE);
});

const read = (address: number) => board.chip.bus.read(address, 4) >>> 0;
const write = (address: number, value: number) => board.chip.bus.write(address, 4, value);
const said = () => board.problems.list.map(({ what }) => what);
/** Time goes by; the image sleeps. */
const wait = (ns: number) => board.run(ns);

function toBytes(): void {
  write(SSI + 0x08, 0);
  write(SSI + 0x14, 4);
  write(SSI + 0x00, 7 << 16);
  write(SSI + 0x10, 1);
  write(SSI + 0x08, 1);
}

function toMemory(): void {
  write(SSI + 0x08, 0);
  write(SSI + 0x00, (31 << 16) | (3 << 8));
  write(SSI + 0x08, 1);
  write(QSPI_SELECT, 0);
}

function command(...bytes: number[]): number[] {
  write(QSPI_SELECT, LOW);
  const answer = bytes.map((byte) => {
    write(SSI + 0x60, byte);
    wait(1000);
    return read(SSI + 0x60);
  });
  write(QSPI_SELECT, HIGH);
  return answer;
}

describe('the flash as memory', () => {
  it('shows what the chip holds, through the cache and past it', () => {
    board.flash.set([1, 2, 3, 4], FREE_SECTOR);
    expect([read(FLASH + FREE_SECTOR), read(UNCACHED + FREE_SECTOR)]).toEqual([0x04030201, 0x04030201]);
    expect(said()).toEqual([]);
  });

  it('cannot be read while commands are set up', () => {
    toBytes();
    read(FLASH);
    expect(said()[0]).toContain('not set up for reads by the processor');
    toMemory();
    read(FLASH);
    expect(said().length).toBe(1);
  });

  it('cannot be read while the chip is busy', () => {
    board.chip.flash.times = REAL_TIMES;
    toBytes();
    command(0x06);
    command(0x20, FREE_SECTOR >> 16, 0, 0);
    toMemory();
    read(UNCACHED);
    expect(said()[0]).toContain('the flash chip is busy');
    wait(REAL_TIMES.sector_erase_us * 1000);
    read(UNCACHED);
    expect(said().length).toBe(1);
  });

  it('is stale in the cache after a change, until that is flushed', () => {
    read(FLASH + FREE_SECTOR);
    toBytes();
    command(0x06);
    command(0x02, FREE_SECTOR >> 16, 0, 0, 0x12);
    toMemory();
    read(UNCACHED + FREE_SECTOR);
    expect(said()).toEqual([]);
    read(FLASH + FREE_SECTOR);
    expect(said()[0]).toContain('from a cache that was not flushed');
    write(XIP_FLUSH, 1);
    expect(read(FLASH + FREE_SECTOR) & 0xff).toBe(0x12);
    expect(said().length).toBe(1);
  });
});

describe('the serial interface', () => {
  it('says when a byte goes to a chip that is not selected', () => {
    toBytes();
    write(QSPI_SELECT, HIGH);
    write(SSI + 0x60, 0x9f);
    expect(said()).toEqual(['byte sent without the chip select held low']);
  });

  it('says when the select rises in the middle of a byte', () => {
    toBytes();
    write(QSPI_SELECT, LOW);
    write(SSI + 0x60, 0x9f);
    write(QSPI_SELECT, HIGH);
    expect(said()).toEqual(['chip select rises in the middle of a byte']);
  });

  it('loses bytes that nobody takes, and says so', () => {
    toBytes();
    write(QSPI_SELECT, LOW);
    for (let n = 0; n < 18; n++) {
      write(SSI + 0x60, 0);
      wait(1000);
    }
    expect(said()[0]).toBe('byte lost: the queue from the chip is full');
  });

  it('takes no new set-up while it is on', () => {
    write(SSI + 0x14, 8);
    expect(said()[0]).toContain('while enabled has no effect');
    expect(read(SSI + 0x14)).toBe(4);
  });
});

describe('peripherals', () => {
  it('are silent while they are held in reset', () => {
    const spi_1 = 0x40040000;
    read(spi_1);
    expect(said()[0]).toContain('which is held in reset');
  });

  it('are told where there are none', () => {
    read(0x60000000);
    expect(said()[0]).toContain('there is nothing');
  });

  it('change by the bits that are written to their aliases', () => {
    const scratch = 0x4005801c;
    write(scratch, 0b1100);
    write(scratch + 0x2000, 0b0011);
    write(scratch + 0x3000, 0b0100);
    write(scratch + 0x1000, 0b1001);
    expect(read(scratch)).toBe(0b0010);
  });

  it('a watchdog that is not connected to the chip resets nothing, and that is said', () => {
    write(0x40010008, 0);
    write(0x40058000, 0x80000000);
    wait(1000);
    expect(board.chip.resets).toBe(0);
    expect(said()[0]).toContain('does not select the chip');
  });
});

describe('what went wrong', () => {
  it('is told for the first fifty times and counted beyond', () => {
    for (let n = 0; n < 60; n++) board.problems.note('here', `number ${n}`);
    expect(board.problems.count).toBe(60);
    expect(board.problems.list.length).toBe(50);
    expect(board.problems.text()).toContain('and 10 more');
  });
});
