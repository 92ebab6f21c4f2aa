import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { COLUMN_ROWS, type ColumnName, TraceHash } from '../../../sim/run/trace/index.js';
import { blockOf, fullBlock } from './made-blocks.js';

const COVERED: readonly ColumnName[] = [
  'z_steps',
  'digital_outputs',
  'mode',
  'fault',
  'measured_V',
  'standoff_mm',
  'x_mm',
  'y_mm',
];

function hashOf(...blocks: Parameters<TraceHash['block']>[0][]): string {
  const hash = new TraceHash();
  for (const block of blocks) hash.block(block);
  return hash.hex();
}

/** A column is a part of an array that it shares with others. */
const bitsOf = ({ buffer, byteOffset, length }: Float32Array) => new Uint32Array(buffer, byteOffset, length);

describe('hash of a run', () => {
  it('is sixteen hexadecimal digits, and the same each time', () => {
    expect(hashOf(fullBlock())).toMatch(/^[0-9a-f]{16}$/);
    expect(hashOf(fullBlock())).toBe(hashOf(fullBlock()));
  });

  it('is what an implementation in another language gives', () => {
    // Computed by a dozen lines of Python that share nothing with this code but the description of the hash.
    const rows = Array.from({ length: 1000 }, (_, tick) =>
      Object.fromEntries(COVERED.map((name, k) => [name, k < 4 ? (tick + k) % 100 : (tick + k) / 7])),
    );
    expect(hashOf()).toBe('e302ac30a10c96f5');
    expect(hashOf(blockOf(0, rows))).toBe('5d5726017a7ef977');
  });

  it.each(COLUMN_ROWS.map(({ name }) => name))('covers %s or says that it does not', (column) => {
    const changed = fullBlock();
    changed[column][500] += 1;
    expect(hashOf(changed) !== hashOf(fullBlock())).toBe(COVERED.includes(column));
  });

  it('depends on the order of the ticks', () => {
    fc.assert(
      fc.property(fc.nat({ max: 998 }), fc.constantFrom(...COVERED), (row, column) => {
        const swapped = fullBlock();
        const first = swapped[column][row];
        const second = swapped[column][row + 1];
        fc.pre(first !== second);
        swapped[column][row] = second;
        swapped[column][row + 1] = first;
        expect(hashOf(swapped)).not.toBe(hashOf(fullBlock()));
      }),
      { numRuns: 40 },
    );
  });

  it('depends on the length of the run, also when the last ticks are all zero', () => {
    expect(hashOf(blockOf(0, [{}, {}]))).not.toBe(hashOf(blockOf(0, [{}, {}, {}])));
  });

  it('does not depend on how the run is cut into blocks', () => {
    const whole = fullBlock();
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1000 }), (cut) => {
        expect(hashOf(fullBlock(0, cut), fullBlock(cut, 1000 - cut))).toBe(hashOf(whole));
      }),
      { numRuns: 30 },
    );
  });

  it('counts every NaN as the same, whatever its bits', () => {
    const one = fullBlock();
    const other = fullBlock();
    bitsOf(one.measured_V)[3] = 0x7fc00000;
    bitsOf(other.measured_V)[3] = 0xffabcdef;
    expect(hashOf(one)).toBe(hashOf(other));
    other.measured_V[3] = Number.POSITIVE_INFINITY;
    expect(hashOf(one)).not.toBe(hashOf(other));
  });

  it('tells single bits of a real apart', () => {
    const one = fullBlock();
    const bits = bitsOf(one.standoff_mm);
    const seen = new Set([hashOf(one)]);
    for (let bit = 0; bit < 32; bit++) {
      bits[700] ^= 1 << bit;
      seen.add(hashOf(one));
      bits[700] ^= 1 << bit;
    }
    expect(seen.size).toBe(33);
  });
});
