/** The shipped loader and image on the emulated board, at the USB port of a strict PC. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { STATUS_ROWS } from '../../firmware/wire/link-rows.js';
import { Random } from '../../sim/base/index.js';
import { EmulatedBoard, LinkPort, NO_TIMES, REAL_TIMES, type UsbDevice } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { amount } from '../support/volume.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader } from './images.js';

const MS_ns = 1e6;
const DEVICE: Partial<UsbDevice> = {
  ...{ vendor: 0x2e8a, product: 0x000a, manufacturer: 'Standoff', serial: 'SNDF-E660583883124A2B' },
};
let board: EmulatedBoard;

/** Plugs the cable in and lets a program open the port. @returns after how much time bytes flow, ms */
function openPort(): number {
  const from_ns = board.now_ns;
  board.usb.plug();
  expect(
    board.runUntil(() => board.usb.device !== undefined, 2e9),
    board.problems.text(),
  ).toBe(true);
  board.usb.open();
  expect(
    board.runUntil(() => board.usb.opened, 1e9),
    board.problems.text(),
  ).toBe(true);
  return (board.now_ns - from_ns) / MS_ns;
}

const identity = (link: LinkPort) => decodeLayout('identity', link.ask('identity').payload)!.values;
const telemetry = (every_ms: number) => encodeLayout('telemetry_request', { every_ms });
const ROW = 'telemetry';
const statusOf = (link: LinkPort, service: string, payload?: Uint8Array) =>
  STATUS_ROWS[link.ask(service, payload).status].name;

async function powered(image?: Uint8Array, times = NO_TIMES): Promise<void> {
  board = await EmulatedBoard.create({ loader: loadLoader(), ...(image && { image }), times });
  board.pins.setLines(RESTING);
}

beforeEach(async () => {
  await powered(loadImage());
  board.runUntil(() => board.tick.count > 0, 1e9);
});
afterEach(() => {
  expect(board.problems.text()).toBe('');
});

describe('a PC', () => {
  it('finds a serial port with this maker and the flash chip’s number, and the box says who it is', () => {
    expect(openPort()).toBeLessThan(300);
    expect(board.usb.device).toMatchObject(DEVICE);
    const link = new LinkPort(board, board.usb);
    const from_ns = board.now_ns;
    expect(identity(link).in_loader).toBe(0);
    expect((board.now_ns - from_ns) / MS_ns).toBeLessThan(1);
  });

  it('finds it again after every pulled plug, with whatever was under way', () => {
    const random = new Random(21);
    const link = new LinkPort(board, board.usb);
    const times = amount(200, 25, 60);
    for (let n = 0; n < times; n++) {
      openPort();
      expect(identity(link).in_loader, `replug ${n}`).toBe(0);
      link.ask(ROW, telemetry(1));
      for (let requests = random.next_u32() & 7; requests > 0; requests--) link.send('identity');
      board.run((random.next_u32() >>> 0) % (3 * MS_ns));
      board.usb.unplug();
      board.run((random.next_u32() >>> 0) % (40 * MS_ns));
    }
    expect(board.usb.counts).toMatchObject({ enumerations: times, gone: times });
  });

  it.each([
    [
      'looks at its slots',
      (link: LinkPort) => {
        for (const slot of [0, 1, 0, 1]) link.send('slot', encodeLayout('slot_request', { slot }));
      },
    ],
    [
      'keeps parameters',
      (link: LinkPort) => {
        link.send('parameters-stage', encodeLayout('values', {}, [{ id: 30, value: 1 }]));
        link.send('parameters-commit');
      },
    ],
  ])('is answered on endpoint 0 in time while the box %s', async (_, work) => {
    // The longest that the chips' data sheets give, from memory.
    await powered(loadImage(), { ...REAL_TIMES, sector_erase_us: 400_000 });
    board.powerUp();
    board.runUntil(() => board.tick.count > 0, 1e9);
    openPort();
    const link = new LinkPort(board, board.usb);
    expect(statusOf(link, 'desk-begin')).toBe('done');
    work(link);
    board.run(5 * MS_ns);
    // A program that ends in the middle, and the next one.
    board.usb.close();
    board.run(300 * MS_ns);
    board.usb.open();
    expect(board.runUntil(() => board.usb.opened, 1e9)).toBe(true);
    expect(identity(new LinkPort(board, board.usb)).in_loader).toBe(0);
  });

  it('gets nothing while no program has the port, and the next program none of the last one’s rows', () => {
    openPort();
    const link = new LinkPort(board, board.usb);
    link.ask(ROW, telemetry(1));
    board.run(20 * MS_ns);
    const { frames } = link;
    expect(frames).toBeGreaterThan(15);
    board.usb.close();
    board.run(100 * MS_ns);
    board.usb.open();
    board.runUntil(() => board.usb.opened, 1e9);
    const rows: number[] = [];
    const next = new LinkPort(board, board.usb);
    next.onFrame = ({ payload }) => rows.push(payload.length);
    // The box has not missed the program yet: it goes on with new rows.
    board.run(3 * MS_ns);
    expect(rows.length).toBeLessThanOrEqual(4);
  });
});

describe('two hosts', () => {
  it('each get their own answers; the rows go where they were asked for, and stay when the other host goes', () => {
    openPort();
    const serial = new LinkPort(board);
    const usb = new LinkPort(board, board.usb);
    const seen = { serial: 0, usb: 0 };
    serial.onFrame = () => seen.serial++;
    usb.onFrame = () => seen.usb++;
    for (let n = 0; n < 5; n++) {
      expect(identity(serial).in_loader).toBe(0);
      expect(identity(usb).in_loader).toBe(0);
    }
    expect(seen).toEqual({ serial: 5, usb: 5 });
    usb.ask(ROW, telemetry(10));
    // The serial host is silent for longer than the box waits; USB is not.
    for (let n = 0; n < 13; n++) {
      board.run(100 * MS_ns);
      usb.ask('ping');
    }
    expect(seen.serial).toBe(5);
    expect(seen.usb - 5).toBeGreaterThan(120);
    // The stream belongs to who asked for it, as long as that one is there.
    expect(statusOf(serial, ROW, telemetry(10))).toBe('other-host');
    usb.ask(ROW, telemetry(0));
    expect(statusOf(serial, ROW, telemetry(10))).toBe('done');
    seen.usb = 0;
    seen.serial = 0;
    board.run(200 * MS_ns);
    expect(seen.usb).toBe(0);
    expect(seen.serial).toBeGreaterThan(15);
  });

  it('do not get into each other’s lockstep or staged values; who is silent for a second has nothing any more', () => {
    openPort();
    const serial = new LinkPort(board);
    const usb = new LinkPort(board, board.usb);
    const staged = (id: number, value: number) => encodeLayout('values', {}, [{ id, value }]);
    expect(statusOf(serial, 'desk-begin')).toBe('done');
    expect(statusOf(serial, 'lockstep-begin')).toBe('done');
    for (const service of ['lockstep-begin', 'lockstep-end']) expect(statusOf(usb, service)).toBe('other-host');
    expect(statusOf(usb, 'restart')).toBe('lockstep');
    expect(statusOf(serial, 'lockstep-end')).toBe('done');
    expect(statusOf(serial, 'parameters-stage', staged(30, 1))).toBe('done');
    expect(statusOf(usb, 'parameters-stage', staged(30, 2))).toBe('other-host');
    expect(statusOf(usb, 'parameters-commit')).toBe('other-host');
    for (let n = 0; n < 13; n++) {
      board.run(100 * MS_ns);
      usb.ask('ping');
    }
    expect(statusOf(usb, 'parameters-commit')).toBe('nothing-staged');
    expect(statusOf(usb, 'parameters-stage', staged(30, 2))).toBe('done');
  });
});

describe('the loader', () => {
  it('without an image shows itself on USB, with the same number', async () => {
    await powered();
    board.powerUp();
    openPort();
    expect(board.usb.device).toMatchObject(DEVICE);
    expect(identity(new LinkPort(board, board.usb)).in_loader).toBe(1);
  });

  it('that goes on to the image does not: the PC sees one device come', () => {
    board.usb.plug();
    board.powerUp();
    board.run(1e9);
    expect(board.usb.counts).toMatchObject({ enumerations: 1, gone: 0 });
  });
});

describe('the tick', () => {
  /** Lets the board tick, and something happen each millisecond. @returns entries off the whole millisecond, and the worst length */
  function measured(ms: number, each: () => void): { off_ns: number; worst_ns: number } {
    board.tick.worst_ns = 0;
    const phases: number[] = [];
    for (let n = 0; n < ms; n++) {
      each();
      board.run(MS_ns);
      phases.push(board.tick.entered_ns % MS_ns);
    }
    return { off_ns: Math.max(...phases) - Math.min(...phases), worst_ns: board.tick.worst_ns };
  }

  it('comes within 1 µs and takes at most 5 % longer while USB carries all that it can', () => {
    openPort();
    const link = new LinkPort(board, board.usb);
    board.run(200 * MS_ns);
    const idle = measured(500, () => {});
    board.usb.nak_wait_ns = 0;
    const { packets } = board.usb.counts;
    const busy = measured(amount(5000, 500, 1000), () => {
      while (board.usb.pending < 2000) link.send('parameters-read', encodeLayout('span', { first: 0, count: 32 }));
    });
    const a_second = ((board.usb.counts.packets - packets) / amount(5000, 500, 1000)) * 1000;
    expect(a_second).toBeGreaterThan(5000);
    expect(busy.off_ns).toBeLessThanOrEqual(1000);
    expect(busy.worst_ns / idle.worst_ns).toBeLessThanOrEqual(1.05);
  });
});
