import { beforeEach, describe, expect, it } from 'vitest';
import { Converter } from '../../sim/emulator/chip/adc.js';
import { BoardClock } from '../../sim/emulator/chip/clock.js';
import { Problems } from '../../sim/emulator/chip/problems.js';
import { Timer, Watchdog } from '../../sim/emulator/chip/timer.js';
import { Uart } from '../../sim/emulator/chip/uart.js';

const CYCLE_ns = 8;
const CLOCK_HZ = 125e6;

let clock: BoardClock;
let cycles = 0;
let problems: Problems;
let raised: Set<number>;

const setInterrupt = (irq: number, on: boolean) => {
  if (on) raised.add(irq);
  else raised.delete(irq);
};

beforeEach(() => {
  clock = new BoardClock();
  cycles = 0;
  clock.cycles = () => cycles;
  clock.setFrequency(CLOCK_HZ);
  problems = new Problems();
  raised = new Set();
});

/** Lets time go by, alarm by alarm. */
function pass(duration_ns: number): void {
  const end = cycles + Math.round(duration_ns / CYCLE_ns);
  while (cycles < end) {
    cycles = Math.min(end, Math.max(cycles, clock.cycleAt(clock.next_ns)));
    clock.fire();
  }
}

// Registers by their offsets: RP2040 datasheet 4.2 (ARM PL011).
describe('serial line', () => {
  const BAUD = 125e6 / (16 * 8.5);
  const BYTE_ns = 10e9 / BAUD;
  let uart: Uart;
  let sent: { byte: number; at_ns: number }[];

  beforeEach(() => {
    uart = new Uart(clock, problems, setInterrupt, () => CLOCK_HZ);
    sent = [];
    uart.onByte = (byte) => sent.push({ byte, at_ns: clock.nanos });
    uart.writeUint32(0x24, 8);
    uart.writeUint32(0x28, 32);
    uart.writeUint32(0x2c, 0x70);
    uart.writeUint32(0x30, 0x301);
  });

  const take = () => uart.readUint32(0x00);
  const flags = () => uart.readUint32(0x18);

  it('delivers bytes one after the other at the speed of the line', () => {
    uart.feed(Uint8Array.of(1, 2, 3));
    pass(0.99 * BYTE_ns);
    expect(flags() & 16).toBe(16);
    pass(0.02 * BYTE_ns);
    expect(take()).toBe(1);
    pass(2 * BYTE_ns);
    expect([take(), take()]).toEqual([2, 3]);
  });

  it('sends at the speed of the line, 32 bytes in the queue and one on the line', () => {
    for (let n = 0; n < 33; n++) uart.writeUint32(0, n);
    expect(flags() & 32).toBe(32);
    expect(problems.count).toBe(0);
    uart.writeUint32(0, 99);
    expect(problems.list[0].what).toBe('byte lost: the queue to the line is full');
    pass(33.5 * BYTE_ns);
    expect(sent.map(({ byte }) => byte)).toEqual(Array.from({ length: 33 }, (_, n) => n));
    expect(sent[32].at_ns).toBeCloseTo(33 * BYTE_ns, -1);
    expect(flags() & 0x88).toBe(0x80);
  });

  it('loses a byte that comes while 32 wait, and says so', () => {
    uart.feed(new Uint8Array(33));
    pass(34 * BYTE_ns);
    expect(uart.overruns).toBe(1);
    expect(uart.readUint32(0x3c) & (1 << 10)).not.toBe(0);
  });

  it('asks for attention at its level, and after 32 bits of silence for what is below it', () => {
    uart.writeUint32(0x34, 2 << 3);
    uart.writeUint32(0x38, 0x50);
    uart.feed(new Uint8Array(16));
    pass(15.5 * BYTE_ns);
    expect(raised.has(20)).toBe(false);
    pass(BYTE_ns);
    expect(raised.has(20)).toBe(true);
    for (let n = 0; n < 16; n++) take();
    expect(raised.has(20)).toBe(false);
    uart.feed(Uint8Array.of(5));
    pass(BYTE_ns + 31e9 / BAUD);
    expect(raised.has(20)).toBe(false);
    pass(2e9 / BAUD);
    expect(raised.has(20)).toBe(true);
  });

  it('garbles both ways when the other end has another speed', () => {
    uart.outside_baud = 115_200;
    uart.feed(Uint8Array.of(0x55));
    uart.writeUint32(0, 0x55);
    pass(1e6);
    expect(take() & 0xff).not.toBe(0x55);
    expect(sent[0].byte).not.toBe(0x55);
  });

  it('forgets what is still on its way when the line is unplugged', () => {
    uart.feed(Uint8Array.of(1, 2, 3));
    pass(1.5 * BYTE_ns);
    uart.dropLine();
    pass(5 * BYTE_ns);
    expect(take()).toBe(1);
    expect(flags() & 16).toBe(16);
  });
});

describe('microsecond timer', () => {
  let timer: Timer;
  beforeEach(() => {
    timer = new Timer(clock, problems, setInterrupt, () => true);
    timer.writeUint32Atomic(0x38, 15, 0);
  });

  it('raises an alarm in the microsecond that equals it', () => {
    pass(500);
    timer.writeUint32Atomic(0x10, 7, 0);
    pass(6000);
    expect(timer.readUint32(0x28)).toBe(6);
    expect(raised.has(0)).toBe(false);
    pass(500);
    expect(timer.readUint32(0x28)).toBe(7);
    expect(raised.has(0)).toBe(true);
    timer.writeUint32Atomic(0x34, 1, 0);
    expect(raised.has(0)).toBe(false);
  });

  it('lets an alarm for a moment that has passed wait for the clock to come round', () => {
    pass(10_000);
    timer.writeUint32Atomic(0x14, 10, 0);
    pass(1e6);
    expect(raised.has(1)).toBe(false);
    expect(timer.readUint32(0x20)).toBe(2);
  });

  it('counts from 0 after a reset of its own', () => {
    pass(5000);
    timer.reset();
    pass(2000);
    expect(timer.readUint32(0x28)).toBe(2);
  });
});

describe('watchdog', () => {
  let watchdog: Watchdog;
  let resets: number[];
  beforeEach(() => {
    watchdog = new Watchdog(clock, problems, () => 12e6);
    resets = [];
    watchdog.onReset = (reason) => resets.push(reason);
    watchdog.writeUint32Atomic(0x2c, 0x20c, 0);
  });

  it('counts twice a microsecond (erratum RP2040-E1) and bites at 0', () => {
    watchdog.writeUint32Atomic(0x04, 20_000, 0);
    watchdog.writeUint32Atomic(0x00, 0x40000000, 2);
    pass(9.9e6);
    expect(resets).toEqual([]);
    pass(0.2e6);
    expect(resets).toEqual([1]);
    expect(watchdog.readUint32(0x08)).toBe(1);
  });

  it('does not bite while it is fed', () => {
    watchdog.writeUint32Atomic(0x04, 20_000, 0);
    watchdog.writeUint32Atomic(0x00, 0x40000000, 2);
    for (let n = 0; n < 50; n++) {
      pass(1e6);
      watchdog.writeUint32Atomic(0x04, 20_000, 0);
    }
    expect(resets).toEqual([]);
  });

  it('bites at once when forced', () => {
    watchdog.writeUint32Atomic(0x00, 0x80000000, 2);
    expect(resets).toEqual([2]);
  });

  it('keeps scratch and reason through its own reset and loses them with the power', () => {
    watchdog.writeUint32Atomic(0x0c, 77, 0);
    watchdog.writeUint32Atomic(0x00, 0x80000000, 2);
    watchdog.restart(false);
    expect([watchdog.readUint32(0x0c), watchdog.readUint32(0x08)]).toEqual([77, 2]);
    watchdog.restart(true);
    expect([watchdog.readUint32(0x0c), watchdog.readUint32(0x08)]).toEqual([0, 0]);
  });

  it('complains of a tick that is no microsecond', () => {
    watchdog.writeUint32Atomic(0x2c, 0x206, 0);
    watchdog.writeUint32Atomic(0x00, 0x40000000, 2);
    expect(problems.list[0].what).toBe('enabled with a tick that is not a microsecond');
  });
});

describe('converter', () => {
  let converter: Converter;
  beforeEach(() => {
    const requests = { setDREQ: () => {}, clearDREQ: () => {} };
    converter = new Converter(clock, problems, setInterrupt, requests, () => true);
    converter.sample = (channel) => 1000 + channel;
  });

  it('gives the value of the channel after 2 µs', () => {
    converter.writeUint32(0x00, 1 | 4 | (1 << 12));
    expect(converter.readUint32(0x00) & 0x100).toBe(0);
    pass(2000);
    expect(converter.readUint32(0x00) & 0x100).toBe(0x100);
    expect(converter.readUint32(0x04)).toBe(1001);
  });

  it('goes round its channels into the queue at the rate of its divider', () => {
    converter.writeUint32(0x08, 1 | (4 << 24));
    converter.writeUint32(0x18, 1);
    // 4800 cycles of 48 MHz: 100 µs.
    converter.writeUint32(0x10, 4799 << 8);
    converter.writeUint32(0x00, 1 | 8 | (3 << 16));
    pass(302_000);
    expect(raised.has(22)).toBe(true);
    expect([0, 0, 0, 0].map(() => converter.readUint32(0x0c))).toEqual([1000, 1001, 1000, 1001]);
    expect(raised.has(22)).toBe(false);
  });

  it('says when a reading is lost', () => {
    converter.writeUint32(0x08, 1);
    converter.writeUint32(0x00, 1 | 8);
    pass(20_000);
    expect(problems.list[0].what).toBe('reading lost: its queue is full');
  });
});
