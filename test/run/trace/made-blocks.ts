import fc from 'fast-check';
import { BLOCK_TICKS, COLUMN_ROWS, type ColumnName, newBlock, type TraceBlock } from '../../../sim/run/trace/index.js';

const RANGES = {
  u8: fc.integer({ min: 0, max: 0xff }),
  u16: fc.integer({ min: 0, max: 0xffff }),
  i16: fc.integer({ min: -0x8000, max: 0x7fff }),
  i32: fc.integer({ min: -0x80000000, max: 0x7fffffff }),
  f32: fc.float(),
};

/** A row with any value that each column can hold, the odd ones among the reals included. */
export const anyRow: fc.Arbitrary<Record<ColumnName, number>> = fc.record(
  Object.fromEntries(COLUMN_ROWS.map(({ name, type }) => [name, RANGES[type]])) as Record<
    ColumnName,
    fc.Arbitrary<number>
  >,
);

/** Rows as one block. */
export function blockOf(first_tick: number, rows: readonly Partial<Record<ColumnName, number>>[]): TraceBlock {
  const block = newBlock();
  block.first_tick = first_tick;
  block.count = rows.length;
  for (const [index, row] of rows.entries()) {
    for (const [name, value] of Object.entries(row)) block[name as ColumnName][index] = value;
  }
  return block;
}

/** A full block whose columns are all different and change from row to row. */
export function fullBlock(first_tick = 0, count = BLOCK_TICKS): TraceBlock {
  const row = (tick: number) =>
    Object.fromEntries(
      COLUMN_ROWS.map(({ name, type }, column) => [name, type === 'f32' ? (tick + column) / 7 : (tick + column) % 100]),
    );
  return blockOf(
    first_tick,
    Array.from({ length: count }, (_, index) => row(first_tick + index)),
  );
}

/** The used rows of a block, column by column, to compare. */
export function rowsOf(block: TraceBlock): Record<string, number>[] {
  return Array.from({ length: block.count }, (_, row) => ({
    tick: block.first_tick + row,
    ...Object.fromEntries(COLUMN_ROWS.map(({ name }) => [name, block[name][row]])),
  }));
}
