import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LAYOUTS, placed } from '../../firmware/wire/link-rows.js';
import { decodeLayout, encodeLayout, layoutBytes } from '../../sim/link/index.js';

describe('every layout', () => {
  it.each(LAYOUTS)('$name comes out as it went in', ({ name, fields, repeats }) => {
    const bytes = fc.uint8Array({ minLength: layoutBytes(name), maxLength: layoutBytes(name) });
    fc.assert(
      fc.property(bytes, (given) => {
        const read = decodeLayout(name, given)!;
        const again = encodeLayout(name, read.values);
        // Gaps between fields, texts after their end and the payload of a NaN are not kept.
        const exact = fields.every(({ type }) => type !== 'text' && type !== 'f32');
        const dense = placed({ name, fields, repeats }).fields.reduce(
          (sum, { count, type }) => sum + count * SIZE[type],
          0,
        );
        if (exact && dense === given.length) expect(again).toEqual(given);
        expect(decodeLayout(name, again)).toEqual(decodeLayout(name, again));
        expect(again.length).toBe(given.length);
      }),
      { numRuns: 50 },
    );
  });

  it.each(LAYOUTS)('$name of another length is refused', ({ name, repeats }) => {
    const length = layoutBytes(name);
    const each = repeats === '' ? 0 : layoutBytes(repeats);
    for (let other = 0; other < length + 3 * each + 2; other++) {
      const fits = other === length || (each > 0 && other >= length && (other - length) % each === 0);
      expect(decodeLayout(name, new Uint8Array(other)) !== undefined, `${other} bytes`).toBe(fits);
    }
  });

  it.each(LAYOUTS)(
    '$name has no field off its natural place, and fits in a frame or a page',
    ({ name, fields, repeats }) => {
      const { bytes } = placed({ name, fields, repeats });
      for (const field of placed({ name, fields, repeats }).fields) expect(field.offset % SIZE[field.type]).toBe(0);
      expect(bytes).toBeLessThanOrEqual(320);
    },
  );
});

const SIZE = { u8: 1, u16: 2, u32: 4, i16: 2, i32: 4, f32: 4, bytes: 1, text: 1 } as const;

describe('values', () => {
  it('of each kind keep their sign and their size', () => {
    const values = { tick: 0xfffffffe, z_steps: -3, z: -70000, measured_V: 118.5, digital_outputs: 11 };
    expect(decodeLayout('telemetry', encodeLayout('telemetry', values))!.values).toMatchObject(values);
  });

  it('in records repeat after the head', () => {
    const payload = encodeLayout('events', { first: 7, next: 9 }, [
      { tick: 1, kind: 2 },
      { tick: 5, kind: 3, value: -4 },
    ]);
    expect(payload.length).toBe(layoutBytes('events') + 2 * layoutBytes('event'));
    const read = decodeLayout('events', payload)!;
    expect(read.values).toEqual({ first: 7, next: 9 });
    expect(read.records[1]).toMatchObject({ tick: 5, kind: 3, value: -4 });
  });
});
