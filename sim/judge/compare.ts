import { COLUMN_ROWS, type ColumnName, type TraceBlock } from '../run/trace/index.js';

/** Where two runs first differ. */
export interface TraceDifference {
  readonly tick: number;
  /** Null when one run ends here and the other does not, or when the ticks themselves differ. */
  readonly column: ColumnName | null;
  /** The two values, or the ticks when these differ; undefined for a run that has ended. */
  readonly a: number | undefined;
  readonly b: number | undefined;
}

export type Blocks = Iterable<TraceBlock> | AsyncIterable<TraceBlock>;

/** One run, read row by row, however it is divided into blocks. */
class Cursor {
  row = 0;
  private block: TraceBlock | undefined;
  private readonly blocks: AsyncIterator<TraceBlock> | Iterator<TraceBlock>;

  constructor(blocks: Blocks) {
    this.blocks = Symbol.asyncIterator in blocks ? blocks[Symbol.asyncIterator]() : blocks[Symbol.iterator]();
  }

  /** @returns the block that holds the next row, or undefined at the end of the run */
  async current(): Promise<TraceBlock | undefined> {
    while (this.block === undefined || this.row >= this.block.count) {
      const next = await this.blocks.next();
      if (next.done === true) return undefined;
      this.block = next.value;
      this.row = 0;
    }
    return this.block;
  }
}

/**
 * Requirement 11: the same inputs give the same outputs on every controller. Compares two runs tick by tick, bit by bit
 * (any NaN equals any other), and stops at the first difference.
 * @param columns to compare, in this order; without it every column
 * @returns the first difference, or null if the runs are the same to the end
 */
export async function compareTraces(
  a: Blocks,
  b: Blocks,
  columns: readonly ColumnName[] = COLUMN_ROWS.map(({ name }) => name),
): Promise<TraceDifference | null> {
  const of_a = new Cursor(a);
  const of_b = new Cursor(b);
  for (;;) {
    const block_a = await of_a.current();
    const block_b = await of_b.current();
    if (block_a === undefined || block_b === undefined) {
      const tick = block_a ? block_a.first_tick + of_a.row : block_b ? block_b.first_tick + of_b.row : -1;
      return tick < 0 ? null : { tick, column: null, a: undefined, b: undefined };
    }
    const rows = Math.min(block_a.count - of_a.row, block_b.count - of_b.row);
    const difference = firstDifference(block_a, of_a.row, block_b, of_b.row, rows, columns);
    if (difference) return difference;
    of_a.row += rows;
    of_b.row += rows;
  }
}

function firstDifference(
  block_a: TraceBlock,
  row_a: number,
  block_b: TraceBlock,
  row_b: number,
  rows: number,
  columns: readonly ColumnName[],
): TraceDifference | null {
  for (let row = 0; row < rows; row++) {
    const tick = block_a.first_tick + row_a + row;
    const tick_b = block_b.first_tick + row_b + row;
    if (tick !== tick_b) return { tick, column: null, a: tick, b: tick_b };
    for (const column of columns) {
      const value_a = block_a[column][row_a + row];
      const value_b = block_b[column][row_b + row];
      if (!Object.is(value_a, value_b)) return { tick, column, a: value_a, b: value_b };
    }
  }
  return null;
}
