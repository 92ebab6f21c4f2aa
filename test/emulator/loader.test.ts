/** The loader as shipped, on the emulated board, by the real requests over its line. */
import { beforeEach, describe, expect, it } from 'vitest';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { EmulatedBoard, LinkPort, NO_TIMES, REAL_TIMES } from '../../sim/emulator/index.js';
import { decodeLayout } from '../../sim/link/index.js';
import { board, loadLoader, sleepingImage, started, withHead } from './images.js';
import { enterLoader, fastLine, headOf, statusName, update, writeRequest } from './updating.js';

const OLD = sleepingImage(20_000, 1);
const NEW = sleepingImage(30_000, 2);
const S_ns = 1e9;
const MS_ns = 1e6;
const boot = (name: string) => BOOT_ROWS.find((row) => row.name === name)!.code;

let emulated: EmulatedBoard;

beforeEach(async () => {
  emulated = await EmulatedBoard.create({ loader: loadLoader(), image: OLD, times: NO_TIMES });
});

const identity = (link: LinkPort) => decodeLayout('identity', link.ask('identity').payload)!.values;
const state = (payload: Uint8Array) => decodeLayout('update_state', payload)!.values as Record<string, number>;

describe('the loader', () => {
  it('starts the image when nobody calls', () => {
    expect(started(emulated, [OLD])).toBe(OLD);
    expect(emulated.problems.text()).toBe('');
  });

  it('starts the newer of two images', () => {
    expect(update(emulated, enterLoader(emulated), NEW)).toBe(0);
    emulated.powerUp();
    expect(started(emulated, [OLD, NEW])).toBe(NEW);
    expect(update(emulated, enterLoader(emulated), OLD)).toBe(0);
    emulated.powerUp();
    expect(started(emulated, [OLD, NEW])).toBe(OLD);
  });

  it('starts the older image when the newer one does not match its checksum', () => {
    expect(update(emulated, enterLoader(emulated), NEW)).toBe(0);
    emulated.flash[board('SLOT_1_AT') + 5000] ^= 4;
    emulated.powerUp();
    expect(started(emulated, [OLD, NEW])).toBe(OLD);
  });

  it('stays when there is no image, and says so', async () => {
    const empty = await EmulatedBoard.create({ loader: loadLoader(), times: NO_TIMES });
    const link = new LinkPort(empty);
    empty.run(S_ns);
    expect(identity(link)).toMatchObject({ in_loader: 1, boot: boot('no-image'), slot: 255 });
    expect(update(empty, link, NEW)).toBe(0);
    empty.powerUp();
    expect(started(empty, [NEW])).toBe(NEW);
  });

  it('stays without a boot block: the boot ROM waits', async () => {
    const blank = await EmulatedBoard.create({});
    blank.run(300 * MS_ns);
    expect(blank.chip.rom_waits, 'it tries again').toBe(false);
    blank.run(200 * MS_ns);
    expect(blank.chip.rom_waits).toBe(true);
  });

  it('starts the image after 10 s without a word', () => {
    enterLoader(emulated);
    expect(started(emulated, [OLD], 9 * S_ns)).toBeUndefined();
    expect(started(emulated, [OLD], 2 * S_ns)).toBe(OLD);
  });

  it('goes back to 115200 when an agreed speed brings no whole frame for a second', () => {
    const link = enterLoader(emulated);
    emulated.chip.uart.outside_baud = 115_200;
    expect(link.try('ping', undefined, 200 * MS_ns)).toBeUndefined();
    emulated.run(S_ns);
    expect(link.try('ping')).toBeDefined();
  });

  it('gives up an image that fails three times in its first second, and takes another', () => {
    // An image that never feeds the watchdog: each start ends after half a second.
    const link = new LinkPort(emulated);
    emulated.run(3 * S_ns);
    expect(emulated.chip.resets).toBe(3);
    expect(identity(link)).toMatchObject({ in_loader: 1, boot: boot('image-fails') });
    expect(update(emulated, link, NEW)).toBe(0);
    emulated.powerUp();
    expect(started(emulated, [OLD, NEW])).toBe(NEW);
  });
});

describe('an update is refused', () => {
  const begin = (head: Uint8Array) => statusName(enterLoader(emulated).ask('update-begin', head).status);

  it('with the key on, also at its end', () => {
    const link = enterLoader(emulated);
    emulated.pins.set('KEY', true);
    expect(statusName(link.ask('update-begin', headOf(NEW)).status)).toBe('key');
    emulated.pins.set('KEY', false);
    expect(statusName(link.ask('update-begin', headOf(NEW)).status)).toBe('done');
    for (let offset = 0; offset < NEW.length - 256; offset += 256) link.ask('update-write', writeRequest(NEW, offset));
    emulated.pins.set('KEY', true);
    expect(statusName(link.ask('update-finish').status)).toBe('key');
    emulated.pins.set('KEY', false);
    expect(statusName(link.ask('update-finish').status)).toBe('busy');
  });

  const body = new Uint8Array(1000);
  it('for another board', () => expect(begin(headOf(withHead(body, { board: 1 })))).toBe('board'));
  it('in an unknown format', () => expect(begin(headOf(withHead(body, { format: 2 })))).toBe('format'));
  it('with another magic', () => expect(begin(headOf(withHead(body, { magic: 1 })))).toBe('format'));
  it('longer than a slot', () =>
    expect(begin(headOf(withHead(body, { length: board('BODY_MOST') + 4 })))).toBe('too-long'));
  it('with a spoilt head', () => {
    const head = headOf(withHead(body)).slice();
    head[40] ^= 1;
    expect(begin(head)).toBe('checksum');
  });

  it('when bytes are missing, when they are wrong, and when they come at the wrong place', () => {
    const link = enterLoader(emulated);
    expect(statusName(link.ask('update-write', writeRequest(NEW, 0)).status)).toBe('not-begun');
    link.ask('update-begin', headOf(NEW));
    expect(statusName(link.ask('update-write', writeRequest(NEW, 512)).status)).toBe('place');
    link.ask('update-write', writeRequest(NEW, 0));
    expect(statusName(link.ask('update-finish').status)).toBe('incomplete');
    const wrong = NEW.slice();
    wrong[5000] ^= 1;
    for (let offset = 0; offset < NEW.length - 256; offset += 256)
      link.ask('update-write', writeRequest(wrong, offset));
    expect(statusName(link.ask('update-finish').status)).toBe('checksum');
    emulated.powerUp();
    expect(started(emulated, [OLD, NEW])).toBe(OLD);
  });
});

describe('an update over a line that breaks', () => {
  it('goes on where it stood when the same image is announced again', () => {
    const link = enterLoader(emulated);
    link.ask('update-begin', headOf(NEW));
    for (let offset = 0; offset < 10_240; offset += 256) link.ask('update-write', writeRequest(NEW, offset));
    emulated.run(2 * S_ns);
    expect(identity(link).in_loader).toBe(1);
    fastLine(emulated, link);
    expect(state(link.ask('update-begin', headOf(NEW)).payload).received).toBe(10_240);
    expect(update(emulated, link, NEW)).toBe(0);
  });

  it('begins again for another image', () => {
    const link = enterLoader(emulated);
    link.ask('update-begin', headOf(NEW));
    link.ask('update-write', writeRequest(NEW, 0));
    const OTHER = sleepingImage(25_000, 4);
    expect(state(link.ask('update-begin', headOf(OTHER)).payload).received).toBe(0);
  });
});

describe('an update at 921600 with the times of a real flash chip', () => {
  it('takes the image at 75 % of the rate of the line or more, and loses no byte', async () => {
    const real = await EmulatedBoard.create({ loader: loadLoader(), image: OLD, times: REAL_TIMES });
    const image = sleepingImage(48_000, 3);
    const link = enterLoader(real);
    const start_ns = real.now_ns;
    link.ask('update-begin', headOf(image));
    // Eight requests under way keep the line full.
    let answered = 0;
    link.onFrame = () => answered++;
    const length = image.length - 256;
    const frames = Math.ceil(length / 256);
    for (let sent = 0; answered < frames; ) {
      while (sent < frames && sent < answered + 8) link.send('update-write', writeRequest(image, 256 * sent++));
      real.run(50_000);
    }
    let finish = link.ask('update-finish');
    while (statusName(finish.status) === 'busy') {
      real.run(MS_ns);
      finish = link.ask('update-finish');
    }
    expect(statusName(finish.status)).toBe('done');
    expect(state(finish.payload)).toMatchObject({ received: length, written: length, generation: 2 });
    const share = (length * 10) / 921_600 / ((real.now_ns - start_ns) / S_ns);
    console.info(`update: ${(100 * share).toFixed(1)} % of the line`);
    expect(share).toBeGreaterThan(0.75);
    expect(real.chip.uart.overruns).toBe(0);
    expect(real.problems.text()).toBe('');
  });
});

describe('a loader that two hosts talk to, one over each way', () => {
  let serial: LinkPort;
  let usb: LinkPort;

  beforeEach(() => {
    emulated.usb.plug();
    serial = enterLoader(emulated);
    expect(emulated.runUntil(() => emulated.usb.device !== undefined, 2 * S_ns)).toBe(true);
    emulated.usb.open();
    expect(emulated.runUntil(() => emulated.usb.opened, S_ns)).toBe(true);
    usb = new LinkPort(emulated, emulated.usb);
  });

  it('takes the silence of the serial line for that line alone: its speed goes back while USB is busy', () => {
    for (let n = 0; n < 12; n++) {
      emulated.run(100 * MS_ns);
      usb.ask('ping');
    }
    emulated.chip.uart.outside_baud = 115_200;
    expect(serial.try('ping')).toBeDefined();
  });

  it('does not start the image while either of them talks', () => {
    const { resets } = emulated.chip;
    for (let n = 0; n < 12; n++) {
      emulated.run(S_ns);
      usb.ask('ping');
    }
    expect(emulated.chip.resets).toBe(resets);
    expect(identity(usb).in_loader).toBe(1);
  });

  it('refuses a restart and another update to the one while the other brings its image in', () => {
    expect(statusName(serial.ask('update-begin', headOf(NEW)).status)).toBe('done');
    const { resets } = emulated.chip;
    for (let offset = 0; offset < NEW.length - 256; offset += 256) {
      expect(statusName(serial.ask('update-write', writeRequest(NEW, offset)).status)).toBe('done');
      if (offset % 4096 !== 0) continue;
      expect(statusName(usb.ask('restart').status)).toBe('other-host');
      expect(statusName(usb.ask('update-begin', headOf(OLD)).status)).toBe('other-host');
    }
    expect(update(emulated, serial, NEW)).toBe(0);
    expect(emulated.chip.resets).toBe(resets);
    emulated.run(1100 * MS_ns);
    expect(statusName(usb.ask('restart').status), 'once it is silent').toBe('done');
    expect(started(emulated, [OLD, NEW])).toBe(NEW);
  });
});
