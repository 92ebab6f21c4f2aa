/** What the box keeps in its flash chip and in the memory that outlasts a restart, on the emulated board with loader and image as shipped. */
import { crc32 } from 'node:zlib';
import { beforeEach, describe, expect, it } from 'vitest';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { LinkPort } from '../../sim/emulator/index.js';
import { decodeLayout, encodeLayout } from '../../sim/link/index.js';
import { at, flash, identity, keep, newBoard, origin, PIERCE, pierce_ms, switchOn, ticking } from './box-on-board.js';
import { board as number, variantImage } from './images.js';

const MS_ns = 1e6;

beforeEach(newBoard);

describe('what an image keeps', () => {
  it('is not written again when it is kept already', () => {
    switchOn();
    keep(410);
    const { operations } = at.emulated.chip.flash;
    keep(410);
    expect(at.emulated.chip.flash.operations).toBe(operations);
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
    for (const [place, word] of head.entries()) bytes.writeUInt32LE(word, 4 * place);
    if (!before) bytes.writeUInt32LE(image_generation, 16);
    for (const [id, value] of values.entries()) bytes.writeFloatLE(value, bytes.length - 4 * (values.length - id));
    bytes.writeUInt32LE(crc32(bytes.subarray(16), crc32(bytes.subarray(0, 12))), 12);
    at.emulated.flash.set(bytes, number('KEPT_AT'));
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
        at.emulated.flash[number('KEPT_AT') + 20] ^= 1;
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
    at.emulated.powerUp();
    // Of what the power cut has left, the sign has come through, and the rest has not.
    const place = number('KEPT_RAM_AT') - number('BODY_RAM_AT');
    const { memory } = at.emulated.chip.processor;
    const sign = new Uint8Array(Uint32Array.of(0x6f646e73, 0x90a1b2c3, 77, 123_456, 654_321).buffer);
    memory.set(sign, place);
    at.link = new LinkPort(at.emulated);
    while (at.link.try('identity', undefined, 20 * MS_ns) === undefined);
    expect(identity().in_loader).toBe(1);
    at.link.ask('restart');
    ticking();
    const events = decodeLayout(
      'events',
      at.link.ask('events-read', encodeLayout('span', { first: 0, count: 1 })).payload,
    )!;
    expect(events.values.next).toBeLessThan(20);
  });
});
