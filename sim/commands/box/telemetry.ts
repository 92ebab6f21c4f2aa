import {
  BLOCK_TICKS,
  BOX_HEADINGS,
  type ColumnName,
  newBlock,
  type TraceBlock,
  type TraceSink,
} from '../../run/trace/index.js';

/** A telemetry row as the link decodes it: the box's columns of a trace by name, and its tick. */
export type TelemetryRow = Readonly<Record<string, number>> & { readonly tick: number };

const COLUMNS: readonly ColumnName[] = BOX_HEADINGS.map(({ column }) => column);

/** Rows that did not come. */
export interface Gap {
  /** From 1. */
  readonly number: number;
  /** Ticks of the rows before and after it. */
  readonly after_tick: number;
  readonly before_tick: number;
  readonly rows: number;
}

/**
 * Gathers the rows of a box into blocks without gaps and hands them on; counts rows and gaps. What a box does not know
 * stays NaN in the blocks. Where the box has started again its ticks, and with them the blocks, begin again at 0.
 */
export class TelemetryBlocks {
  /** Rows that came. */
  rows = 0;
  /** Rows that did not come, and in how many gaps. */
  lost_rows = 0;
  gaps = 0;
  private readonly block: TraceBlock = newBlock();
  private last_tick = -1;

  /** @param every_ms the rows that are asked for: one every so many ticks */
  constructor(
    public every_ms: number,
    private readonly sinks: readonly TraceSink[],
  ) {
    for (const column of Object.values(this.block)) {
      if (column instanceof Float32Array) column.fill(Number.NaN);
    }
  }

  /**
   * Takes in a row. A row of a tick that was there already is left out.
   * @returns the gap before it, if there is one
   */
  add(row: TelemetryRow): Gap | undefined {
    const { last_tick, every_ms } = this;
    if (row.tick === last_tick) return undefined;
    const gap = last_tick >= 0 && row.tick > last_tick ? this.gapBefore(row.tick) : undefined;
    if (row.tick !== last_tick + 1) this.flush();
    const { block } = this;
    if (block.count === 0) block.first_tick = row.tick;
    for (const column of COLUMNS) block[column][block.count] = row[column];
    block.count++;
    this.rows++;
    this.last_tick = row.tick;
    if (block.count === BLOCK_TICKS || every_ms > 1) this.flush();
    return gap;
  }

  /** The next row is the first of another start of the box: what lies between is no gap. */
  startAnew(): void {
    this.flush();
    this.last_tick = -1;
  }

  /** Hands on what has been gathered. */
  flush(): void {
    if (this.block.count === 0) return;
    for (const sink of this.sinks) sink.block(this.block);
    this.block.count = 0;
  }

  private gapBefore(tick: number): Gap | undefined {
    const rows = Math.round((tick - this.last_tick) / this.every_ms) - 1;
    if (rows <= 0) return undefined;
    this.lost_rows += rows;
    return { number: ++this.gaps, after_tick: this.last_tick, before_tick: tick, rows };
  }
}
