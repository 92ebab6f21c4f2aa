/** A new image that fails, on the emulated board with the loader as shipped: the way back, and what the older image then runs with. */
import { crc32 } from 'node:zlib';
import { beforeEach, describe, expect, it } from 'vitest';
import { REFUSAL_ROWS } from '../../firmware/wire/code-rows.js';
import { MODE_REST } from '../../firmware/wire/codes.gen.js';
import { BOOT_ROWS, ORIGIN_ROWS, SLOT_ROWS } from '../../firmware/wire/link-rows.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { EmulatedBoard, LinkPort, NO_TIMES } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout, type Values } from '../../sim/link/index.js';
import { RESTING } from './cutting.js';
import { loadImage, loadLoader, board as number, sleepingImage, variantImage } from './images.js';
import { enterLoader, headOf, statusName, update, writeRequest } from './updating.js';

const MS_ns = 1e6;
const S_ns = 1e9;
const BODY_AT = number('BODY_RAM_AT');
const codeOf = (rows: readonly { readonly name: string; readonly code: number }[], wanted: string): number =>
  rows.find(({ name }) => name === wanted)!.code;
const boot = (name: string): number => codeOf(BOOT_ROWS, name);
const PIERCE = PARAMETER_ROWS.find(({ name }) => name === 'pierce_ms')!;

/** Never feeds the watchdog: each start ends after half a second. */
const HANGS = sleepingImage(30_000, 2);
/** Of the shipped image: a branch to itself. */
const LOOP = 0xe7fe;

let emulated: EmulatedBoard;
let link: LinkPort;

beforeEach(async () => {
  emulated = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage(), times: NO_TIMES });
  emulated.pins.setLines(RESTING);
});

const ask = (service: string, payload?: Uint8Array, layout = service): Values =>
  decodeLayout(layout, link.ask(service, payload).payload)!.values;
const identity = () => ask('identity');
const slot = (which: number): Values => ask('slot', encodeLayout('slot_request', { slot: which }));
const holds = (which: number): string => SLOT_ROWS[slot(which).holds as number].name;
const origin = (): string => {
  const running = [0, 1].map(slot).find(({ runs }) => runs === 1)!;
  return ORIGIN_ROWS[running.origin as number].name;
};

/** Writes an image and starts it. */
function flash(image: Uint8Array): void {
  link = enterLoader(emulated);
  expect(statusName(update(emulated, link, image))).toBe('done');
  link.ask('restart');
  link = new LinkPort(emulated);
}

/** Runs until the image ticks, and one more second. */
function ticking(): void {
  const before = emulated.tick.count;
  expect(emulated.runUntil(() => emulated.tick.count > before + 3, 5 * S_ns)).toBe(true);
}

function switchOn(): void {
  emulated.powerUp();
  emulated.pins.setLines(RESTING);
  link = new LinkPort(emulated);
  ticking();
}

function pierce_ms(): number {
  const answer = link.ask('parameters-read', encodeLayout('span', { first: PIERCE.id, count: 1 }));
  return decodeLayout('values', answer.payload)!.records[0].value as number;
}

function keep(value: number): void {
  // The first ticks see voltage: nothing is filtered yet.
  emulated.run(600 * MS_ns);
  const staged = link.ask('parameters-stage', encodeLayout('values', {}, [{ id: PIERCE.id, value }]));
  expect(statusName(staged.status)).toBe('done');
  expect(statusName(link.ask('parameters-commit').status)).toBe('done');
}

/** The tick stops for good, in this start of the image. */
function hang(): void {
  const { processor } = emulated.chip;
  const body = processor.memory;
  let at = 0;
  while ((body[at] | (body[at + 1] << 8)) !== LOOP) at += 2;
  processor.masked = 1;
  processor.r[15] = BODY_AT + at;
  emulated.run(15 * MS_ns);
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
    const before = emulated.chip.resets;
    ticking();
    // Three starts of half a second, and one to go back.
    expect(emulated.chip.resets - before).toBe(1 + 3 + 1);
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('rolled-back'), slot: 0, generation: 1 });
    expect([holds(0), holds(1)]).toEqual(['valid', 'failed']);
    expect(origin()).toBe('defaults');
    expect(emulated.problems.text()).toBe('');
  });

  it('is not tried again when the power comes back, and the next image has a higher generation', () => {
    flash(HANGS);
    ticking();
    const before = emulated.chip.resets;
    switchOn();
    expect(emulated.chip.resets).toBe(before);
    expect(identity()).toMatchObject({ boot: boot('power-up'), slot: 0 });
    flash(variantImage(1));
    ticking();
    expect(identity()).toMatchObject({ boot: boot('update'), slot: 1, generation: 3 });
  });

  it('is given up also where a host asks in every start, and restarts it', () => {
    flash(HANGS);
    for (let starts = 0; starts < 2; starts++) {
      emulated.run(700 * MS_ns);
      while (link.try('identity', undefined, 20 * MS_ns) === undefined);
      expect(identity().in_loader, 'asked while it listens, it stays').toBe(1);
      link.ask('restart');
    }
    ticking();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('rolled-back'), slot: 0 });
  });

  it('stays given up half-way: whatever bits of the mark are there', () => {
    flash(HANGS);
    ticking();
    emulated.flash[number('SLOT_1_AT') + 252] |= 0xfe;
    emulated.flash.fill(0xff, number('SLOT_1_AT') + 253, number('SLOT_1_AT') + 256);
    switchOn();
    expect(identity()).toMatchObject({ slot: 0 });
    expect(holds(1)).toBe('failed');
  });

  it('is kept while the key is on: the loader stays, and goes back once the key has been off for 0.1 s', () => {
    flash(HANGS);
    emulated.pins.set('KEY', true);
    emulated.run(4 * S_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 1 });
    emulated.pins.set('KEY', false);
    emulated.run(50 * MS_ns);
    emulated.pins.set('KEY', true);
    emulated.run(500 * MS_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 1 });
    emulated.pins.set('KEY', false);
    ticking();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('rolled-back'), slot: 0 });
  });

  it('is what the next one is written over, also before the box has gone back: the one before stays', () => {
    flash(HANGS);
    emulated.pins.set('KEY', true);
    emulated.run(4 * S_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 1 });
    emulated.pins.set('KEY', false);
    // Begun within the 0.1 s, and the power goes in the middle.
    link.ask('update-begin', headOf(variantImage(1)));
    link.ask('update-write', writeRequest(variantImage(1), 0));
    emulated.run(300 * MS_ns);
    switchOn();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('power-up'), slot: 0 });
    expect(holds(0)).toBe('valid');
  });

  it('gives its place to the next one for good, too', () => {
    flash(HANGS);
    emulated.pins.set('KEY', true);
    emulated.run(4 * S_ns);
    emulated.pins.set('KEY', false);
    expect(statusName(update(emulated, link, variantImage(1)))).toBe('done');
    link.ask('restart');
    link = new LinkPort(emulated);
    ticking();
    expect(identity()).toMatchObject({ in_loader: 0, boot: boot('update'), slot: 1, generation: 3 });
    expect([holds(0), holds(1)]).toEqual(['valid', 'trial']);
  });

  it('leaves the loader where there is none to go back to', async () => {
    emulated = await EmulatedBoard.create({ loader: loadLoader(), image: HANGS, times: NO_TIMES });
    link = new LinkPort(emulated);
    emulated.run(4 * S_ns);
    expect(identity()).toMatchObject({ in_loader: 1, boot: boot('image-fails'), slot: 0 });
    expect(holds(0)).toBe('valid');
  });
});

describe('a new image', () => {
  it('is on trial until it has run for a second and answered', () => {
    flash(variantImage(1));
    ticking();
    expect(holds(1)).toBe('trial');
    emulated.run(1100 * MS_ns);
    expect(holds(1)).toBe('valid');
  });

  it('that nobody asks is on trial for as long, and a start that ends in that time counts', () => {
    flash(variantImage(1));
    ticking();
    emulated.run(3 * S_ns);
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
      emulated.run(1100 * MS_ns);
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
    emulated.run(1100 * MS_ns);
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
    emulated.run(1100 * MS_ns);
    failForGood();
    expect(identity()).toMatchObject({ boot: boot('rolled-back'), slot: 0, parameter_generation: 0 });
    expect([pierce_ms(), origin()]).toEqual([PIERCE.default, 'withheld']);
    emulated.pins.set('TOP', true);
    const turnKey = () => {
      emulated.pins.set('KEY', false);
      emulated.run(200 * MS_ns);
      emulated.pins.set('KEY', true);
      emulated.run(200 * MS_ns);
      const state = ask('state');
      emulated.pins.set('KEY', false);
      emulated.run(200 * MS_ns);
      return state;
    };
    const resting = turnKey();
    expect(resting).toMatchObject({ mode: MODE_REST, refusal: codeOf(REFUSAL_ROWS, 'resting') });
    switchOn();
    emulated.pins.set('TOP', true);
    expect(turnKey().refusal, 'after the power was off, too').toBe(resting.refusal);
    keep(450);
    expect([pierce_ms(), origin()]).toEqual([450, 'own']);
    expect(turnKey().refusal).not.toBe(resting.refusal);
  });
});

describe('what an image keeps', () => {
  it('is not written again when it is kept already', () => {
    switchOn();
    keep(410);
    const { operations } = emulated.chip.flash;
    keep(410);
    expect(emulated.chip.flash.operations).toBe(operations);
    expect(identity().parameter_generation).toBe(1);
    keep(411);
    expect(identity().parameter_generation).toBe(2);
  });

  const VALUES = PARAMETER_ROWS.map((row) => (row === PIERCE ? 433 : row.default));
  /** Writes a copy as an image of this generation, which is none that is here, would keep it; 0: firmware of before. */
  function kept(values: readonly number[], image_generation: number): void {
    const before = image_generation === 0;
    const bytes = Buffer.alloc((before ? 16 : 52) + 4 * values.length, 0x55);
    const head = [number(before ? 'KEPT_MAGIC_1' : 'KEPT_MAGIC'), 3, values.length];
    for (const [at, word] of head.entries()) bytes.writeUInt32LE(word, 4 * at);
    if (!before) bytes.writeUInt32LE(image_generation, 16);
    for (const [at, value] of values.entries()) bytes.writeFloatLE(value, bytes.length - 4 * (values.length - at));
    bytes.writeUInt32LE(crc32(bytes.subarray(16), crc32(bytes.subarray(0, 12))), 12);
    emulated.flash.set(bytes, number('KEPT_AT'));
  }

  it('goes on from what firmware of before has kept, which does not say by which image', () => {
    kept(VALUES, 0);
    switchOn();
    expect([pierce_ms(), origin(), identity().parameter_generation]).toEqual([433, 'older', 3]);
    keep(440);
    expect([pierce_ms(), origin(), identity().parameter_generation]).toEqual([440, 'own', 4]);
  });

  it.each([
    ['by another image of the same age', () => kept(VALUES, 1)],
    [
      'by an older image that knew more parameters',
      () => {
        flash(variantImage(1));
        kept([...VALUES, 1], 1);
      },
    ],
    [
      'with a value that the module refuses',
      () => {
        flash(variantImage(1));
        kept(
          VALUES.map((value, id) => (id === PIERCE.id ? -5 : value)),
          1,
        );
      },
    ],
    [
      'and is damaged',
      () => {
        kept(VALUES, 0);
        emulated.flash[number('KEPT_AT') + 20] ^= 1;
      },
    ],
  ])('is not taken when it was kept %s: defaults, and no arming', (_, make) => {
    switchOn();
    make();
    switchOn();
    expect([pierce_ms(), origin()]).toEqual([PIERCE.default, 'withheld']);
    keep(450);
    expect([pierce_ms(), origin()]).toEqual([450, 'own']);
    switchOn();
    expect([pierce_ms(), origin()]).toEqual([450, 'own']);
  });

  it('is taken over from an older image that knew as many', () => {
    switchOn();
    flash(variantImage(1));
    kept(VALUES, 1);
    switchOn();
    expect([pierce_ms(), origin()]).toEqual([433, 'older']);
  });
});

describe('the memory that outlasts a restart', () => {
  it('is cleared after a power cut, also where a host kept the loader before the image ran', () => {
    switchOn();
    emulated.powerUp();
    // Of what the power cut has left, the sign has come through, and the rest has not.
    const at = number('KEPT_RAM_AT') - number('BODY_RAM_AT');
    const { memory } = emulated.chip.processor;
    const sign = new Uint8Array(Uint32Array.of(0x6f646e73, 0x90a1b2c3, 77, 123_456, 654_321).buffer);
    memory.set(sign, at);
    link = new LinkPort(emulated);
    while (link.try('identity', undefined, 20 * MS_ns) === undefined);
    expect(identity().in_loader).toBe(1);
    link.ask('restart');
    ticking();
    const events = decodeLayout(
      'events',
      link.ask('events-read', encodeLayout('span', { first: 0, count: 1 })).payload,
    )!;
    expect(events.values.next).toBeLessThan(20);
  });
});
