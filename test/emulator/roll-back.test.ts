/** A new image that fails, on the emulated board with the loader as shipped: the way back, and what the older image then runs with. */
import { beforeEach, describe, expect, it } from 'vitest';
import { REFUSAL_ROWS } from '../../firmware/wire/code-rows.js';
import { MODE_REST } from '../../firmware/wire/codes.gen.js';
import { BOOT_ROWS } from '../../firmware/wire/link-rows.js';
import { EmulatedBoard, LinkPort, NO_TIMES } from '../../sim/emulator/index.js';
import {
  ask,
  at,
  flash,
  holds,
  identity,
  keep,
  newBoard,
  origin,
  PIERCE,
  pierce_ms,
  switchOn,
  ticking,
} from './box-on-board.js';
import { loadLoader, board as number, sleepingImage, variantImage } from './images.js';
import { headOf, statusName, update, writeRequest } from './updating.js';

const MS_ns = 1e6;
const S_ns = 1e9;
const BODY_AT = number('BODY_RAM_AT');
const codeOf = (rows: readonly { readonly name: string; readonly code: number }[], wanted: string): number =>
  rows.find(({ name }) => name === wanted)!.code;
const boot = (name: string): number => codeOf(BOOT_ROWS, name);

/** Never feeds the watchdog: each start ends after half a second. */
const HANGS = sleepingImage(30_000, 2);
/** Of the shipped image: a branch to itself. */
const LOOP = 0xe7fe;

beforeEach(newBoard);

/** The tick stops for good, in this start of the image. */
function hang(): void {
  const { processor } = at.emulated.chip;
  const body = processor.memory;
  let place = 0;
  while ((body[place] | (body[place + 1] << 8)) !== LOOP) place += 2;
  processor.masked = 1;
  processor.r[15] = BODY_AT + place;
  at.emulated.run(15 * MS_ns);
}

/** The image that runs hangs in each start, until the box has gone back from it. */
function failForGood(): void {
  // The first one comes late: it does not count.
  for (let starts = 0; starts < 4; starts++) {
    hang();
    ticking();
  }
}

describe('an image that hangs from its first start on', () => {
  it('is given up after three starts, and the one before it runs and says so', () => {
    flash(HANGS);
    const before = at.emulated.chip.resets;
    ticking();
    // Three starts of half a second, and one to go back.
    expect(at.emulated.chip.resets - before).toBe(1 + 3 + 1);
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('rolled-back'), slot: 0, generation: 1 });
    expect([holds(0), holds(1)]).toEqual(['valid', 'failed']);
    expect(origin()).toBe('defaults');
    expect(at.emulated.problems.text()).toBe('');
  });

  it('is not tried again when the power comes back, and the next image has a higher generation', () => {
    flash(HANGS);
    ticking();
    const before = at.emulated.chip.resets;
    switchOn();
    expect(at.emulated.chip.resets).toBe(before);
    expect(identity()).toMatchObject({ boot: boot('power-up'), slot: 0 });
    flash(variantImage(1));
    ticking();
    expect(identity()).toMatchObject({ boot: boot('update'), slot: 1, generation: 3 });
  });

  it('is given up also where a host asks in every start, and restarts it', () => {
    flash(HANGS);
    for (let starts = 0; starts < 2; starts++) {
      at.emulated.run(700 * MS_ns);
      while (at.link.try('identity', undefined, 20 * MS_ns) === undefined);
      expect(identity().in_loader, 'asked while it listens, it stays').toBe(1);
      at.link.ask('restart');
    }
    ticking();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('rolled-back'), slot: 0 });
  });

  it('stays given up half-way: whatever bits of the mark are there', () => {
    flash(HANGS);
    ticking();
    at.emulated.flash[number('SLOT_1_AT') + 252] |= 0xfe;
    at.emulated.flash.fill(0xff, number('SLOT_1_AT') + 253, number('SLOT_1_AT') + 256);
    switchOn();
    expect(identity()).toMatchObject({ slot: 0 });
    expect(holds(1)).toBe('failed');
  });

  it('is kept while the key is on: the loader stays, and goes back once the key has been off for 0.1 s', () => {
    flash(HANGS);
    at.emulated.pins.set('KEY', true);
    at.emulated.run(4 * S_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 1 });
    at.emulated.pins.set('KEY', false);
    at.emulated.run(50 * MS_ns);
    at.emulated.pins.set('KEY', true);
    at.emulated.run(500 * MS_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 1 });
    at.emulated.pins.set('KEY', false);
    ticking();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('rolled-back'), slot: 0 });
  });

  it('is what the next one is written over, also before the box has gone back: the one before stays', () => {
    flash(HANGS);
    at.emulated.pins.set('KEY', true);
    at.emulated.run(4 * S_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 1 });
    at.emulated.pins.set('KEY', false);
    // Begun within the 0.1 s, and the power goes in the middle.
    at.link.ask('update-begin', headOf(variantImage(1)));
    at.link.ask('update-write', writeRequest(variantImage(1), 0));
    at.emulated.run(300 * MS_ns);
    switchOn();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('power-up'), slot: 0 });
    expect(holds(0)).toBe('valid');
  });

  it('gives its place to the next one for good, too', () => {
    flash(HANGS);
    at.emulated.pins.set('KEY', true);
    at.emulated.run(4 * S_ns);
    at.emulated.pins.set('KEY', false);
    expect(statusName(update(at.emulated, at.link, variantImage(1)))).toBe('done');
    at.link.ask('restart');
    at.link = new LinkPort(at.emulated);
    ticking();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('update'), slot: 1, generation: 3 });
    expect([holds(0), holds(1)]).toEqual(['valid', 'trial']);
  });

  it('leaves the loader where there is none to go back to', async () => {
    at.emulated = await EmulatedBoard.create({ loader: loadLoader(), image: HANGS, times: NO_TIMES });
    at.link = new LinkPort(at.emulated);
    at.emulated.run(4 * S_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 0 });
    expect(holds(0)).toBe('valid');
  });
});

describe('a new image', () => {
  it('is on trial until it has run for a second and answered', () => {
    flash(variantImage(1));
    ticking();
    expect(holds(1)).toBe('trial');
    at.emulated.run(1100 * MS_ns);
    expect(holds(1)).toBe('valid');
  });

  it('that nobody asks is on trial for as long, and a start that ends in that time counts', () => {
    flash(variantImage(1));
    ticking();
    at.emulated.run(3 * S_ns);
    for (let starts = 0; starts < 3; starts++) {
      hang();
      ticking();
    }
    expect(identity()).toMatchObject({ boot: boot('rolled-back'), slot: 0 });
  });

  it('that has proved itself is not given up for a hang now and then', () => {
    flash(variantImage(1));
    ticking();
    for (let starts = 0; starts < 4; starts++) {
      expect(identity()).toMatchObject({ slot: 1 });
      at.emulated.run(1100 * MS_ns);
      hang();
      ticking();
    }
    expect(identity()).toMatchObject({ boot: boot('hung'), slot: 1 });
  });
});

describe('an image that the box went back to', () => {
  it('runs with the parameters that it last ran with, whatever the newer one has kept', () => {
    switchOn();
    keep(410);
    flash(variantImage(1));
    ticking();
    expect([pierce_ms(), origin()]).toEqual([410, 'older']);
    for (const value of [420, 430, 440]) keep(value);
    at.emulated.run(1100 * MS_ns);
    failForGood();
    expect(identity()).toMatchObject({ boot: boot('rolled-back'), slot: 0 });
    expect([pierce_ms(), origin()]).toEqual([410, 'own']);
    switchOn();
    expect(pierce_ms()).toBe(410);
    // The image after it takes what was kept last.
    keep(415);
    flash(variantImage(2));
    ticking();
    expect([pierce_ms(), origin()]).toEqual([415, 'older']);
  });

  it('runs with its defaults and cannot be armed where it has none, until somebody has set them', () => {
    flash(variantImage(1));
    ticking();
    keep(420);
    at.emulated.run(1100 * MS_ns);
    failForGood();
    expect(identity()).toMatchObject({ boot: boot('rolled-back'), slot: 0, parameter_generation: 0 });
    expect([pierce_ms(), origin()]).toEqual([PIERCE.default, 'withheld']);
    at.emulated.pins.set('TOP', true);
    const turnKey = () => {
      at.emulated.pins.set('KEY', false);
      at.emulated.run(200 * MS_ns);
      at.emulated.pins.set('KEY', true);
      at.emulated.run(200 * MS_ns);
      const state = ask('state');
      at.emulated.pins.set('KEY', false);
      at.emulated.run(200 * MS_ns);
      return state;
    };
    const resting = turnKey();
    expect(resting).toMatchObject({ mode: MODE_REST, refusal: codeOf(REFUSAL_ROWS, 'resting') });
    switchOn();
    at.emulated.pins.set('TOP', true);
    expect(turnKey().refusal, 'after the power was off, too').toBe(resting.refusal);
    keep(450);
    expect([pierce_ms(), origin()]).toEqual([450, 'own']);
    expect(turnKey().refusal).not.toBe(resting.refusal);
  });
});
