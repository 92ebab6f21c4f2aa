import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { f32Text } from '../../../sim/run/trace/csv-writer.js';
import { COLUMN_ROWS, HEADING_LINE, HEADINGS } from '../../../sim/run/trace/index.js';

describe('column headings', () => {
  it('are all different, and as many as the columns and the tick', () => {
    const names = HEADING_LINE.split(',');
    expect(new Set(names).size).toBe(names.length);
    expect(names).toHaveLength(COLUMN_ROWS.length + 1);
    expect(names[0]).toBe('tick');
  });

  it('each end in the unit of the column', () => {
    for (const [index, { unit }] of COLUMN_ROWS.entries()) {
      const word = unit === '0/1' ? '0or1' : unit.replace('/', '_');
      expect(HEADINGS[index].heading.split('_').slice(-word.split('_').length).join('_')).toBe(word);
    }
  });

  it('say a unit once, and keep two columns apart that would get the same name', () => {
    const heading = Object.fromEntries(HEADINGS.map((row) => [row.column, row.heading]));
    expect(heading).toMatchObject({
      measured_V: 'measured_V',
      z_velocity_mm_s: 'z_velocity_mm_s',
      digital_inputs: 'digital_inputs_bits',
      slope_x: 'slope_x_1',
      burning: 'burning_0or1',
      z_steps: 'z_steps',
      z: 'z_in_steps',
    });
  });
});

describe('text of an f32', () => {
  it.each([
    [0, '0'],
    [-0, '-0'],
    [1.5, '1.5'],
    [0.1, '0.1'],
    [-118.25, '-118.25'],
    [16777216, '16777216'],
    [1e6, '1000000'],
    [1e-9, '1e-9'],
    [3.4028234663852886e38, '3.4028235e+38'],
    [1.401298464324817e-45, '1e-45'],
    [Number.NaN, 'NaN'],
    [Number.POSITIVE_INFINITY, 'Infinity'],
    [Number.NEGATIVE_INFINITY, '-Infinity'],
  ])('of %d is %s', (value, text) => {
    expect(f32Text(Math.fround(value))).toBe(text);
  });

  it('reads back as the same f32, for any bits', () => {
    const bits = new Uint32Array(1);
    const real = new Float32Array(bits.buffer);
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 0xffffffff }), (word) => {
        bits[0] = word;
        const value = real[0];
        expect(Math.fround(Number(f32Text(value)))).toBe(value);
      }),
      { numRuns: 3000 },
    );
  });

  it('is never longer than the decimal that the f32 came from', () => {
    fc.assert(
      fc.property(fc.integer({ min: -999_999, max: 999_999 }), fc.integer({ min: 0, max: 4 }), (digits, point) => {
        const value = digits / 10 ** point;
        expect(f32Text(Math.fround(value))).toBe(`${value === 0 ? 0 : value}`);
      }),
      { numRuns: 1000 },
    );
  });
});
