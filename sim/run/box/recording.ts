import {
  BLOCK_TICKS,
  BOX_HEADINGS,
  type ByteOutput,
  type ColumnName,
  CsvWriter,
  newBlock,
  openOutput,
  SOURCE_BOX,
  type TraceBlock,
  type TraceSink,
} from '../trace/index.js';

/** A telemetry row as the link decodes it: the box's columns of a trace by name, and its tick. */
export type BoxRow = Readonly<Record<string, number>> & { readonly tick: number };

/** A consumer of the blocks of a box. */
export interface BoxSink extends TraceSink {
  /** The box has started again: the ticks of the next block begin at 0 again. */
  restart(): void;
}

const COLUMNS: readonly ColumnName[] = BOX_HEADINGS.map(({ column }) => column);

/** Rows that were lost. */
export interface Gap {
  /** From 1. */
  readonly number: number;
  /** Ticks of the rows before and after it. */
  readonly after_tick: number;
  readonly before_tick: number;
  readonly rows: number;
}

/**
 * Gathers the rows of a box into blocks without gaps, and counts rows and gaps. What a box does not know is NaN in the
 * blocks.
 */
export class TelemetryBlocks {
  /** Rows that arrived. */
  rows = 0;
  /** Rows that were lost, and in how many gaps. */
  lost_rows = 0;
  gaps = 0;
  /** Tick of the last row; -1 before the first one of a start. */
  last_tick = -1;
  private readonly block: TraceBlock = newBlock();
  private last_row_ms = 0;

  /** @param every_ms interval of the rows that were asked for, ticks */
  constructor(
    private every_ms: number,
    private readonly sinks: readonly BoxSink[],
  ) {
    for (const column of Object.values(this.block)) {
      if (column instanceof Float32Array) column.fill(Number.NaN);
    }
  }

  /**
   * Takes in a row. A second row of the same tick is left out; one of an earlier tick is of another start of the box.
   * @returns the gap before it, if there is one
   */
  add(row: BoxRow): Gap | undefined {
    this.last_row_ms = Date.now();
    if (row.tick === this.last_tick) return undefined;
    if (row.tick < this.last_tick) this.restart();
    const gap = this.last_tick < 0 ? undefined : this.gapBefore(row.tick);
    if (row.tick !== this.last_tick + 1) this.flush();
    const { block } = this;
    if (block.count === 0) block.first_tick = row.tick;
    for (const column of COLUMNS) block[column][block.count] = row[column];
    block.count++;
    this.rows++;
    this.last_tick = row.tick;
    if (block.count === BLOCK_TICKS || this.every_ms > 1) this.flush();
    return gap;
  }

  /**
   * The box answers again after a silence.
   * @param tick ticks since its start
   * @param every_ms as in the constructor
   */
  resume(tick: number, every_ms: number): void {
    this.flush();
    this.every_ms = every_ms;
    // A box that has gone on is older than the silence; its ticks may still have overtaken those of before.
    const silent_ms = Date.now() - this.last_row_ms;
    if (this.last_tick >= 0 && (tick <= this.last_tick || tick < silent_ms)) this.restart();
  }

  /** Hands on the rows so far. */
  flush(): void {
    if (this.block.count === 0) return;
    for (const sink of this.sinks) sink.block(this.block);
    this.block.count = 0;
  }

  /** What lies between two starts is no gap. */
  private restart(): void {
    this.flush();
    this.last_tick = -1;
    for (const sink of this.sinks) sink.restart();
  }

  private gapBefore(tick: number): Gap | undefined {
    const rows = Math.round((tick - this.last_tick) / this.every_ms) - 1;
    if (rows <= 0) return undefined;
    this.lost_rows += rows;
    return { number: ++this.gaps, after_tick: this.last_tick, before_tick: tick, rows };
  }
}

/**
 * What a watched box sent, as trace files. Each start of the box has a file of its own, because its ticks begin again:
 * `cut.csv`, then `cut-2.csv`. Rows stay in memory until `flush`; whatever ends the watching leaves whole files.
 */
export class SavedTrace implements BoxSink {
  /** Names of the files, in their order. */
  readonly files: string[] = [];
  rows = 0;
  private writer!: CsvWriter;
  private output!: Buffered;

  /**
   * @param path name of the first file, ends in .csv or .csv.gz
   * @throws StandoffError `file-exists`, `file-unwritable`
   */
  constructor(
    private readonly path: string,
    private readonly head: Readonly<Record<string, string | number>>,
    private readonly force: boolean,
  ) {
    this.open();
  }

  block(block: TraceBlock): void {
    this.writer.block(block);
    this.rows += block.count;
  }

  restart(): void {
    this.close();
    this.open();
  }

  /** Writes everything to the disk. */
  flush(): void {
    this.output.flush();
  }

  close(): void {
    this.writer.close();
  }

  /** `cut.csv`, `cut-2.csv`, `cut-3.csv`; the same with `.csv.gz`. */
  private open(): void {
    const number = this.files.length + 1;
    const path = number === 1 ? this.path : this.path.replace(/(\.csv(?:\.gz)?)$/, `-${number}$1`);
    this.output = new Buffered(openOutput(path, this.force));
    this.writer = new CsvWriter(this.output, { source: SOURCE_BOX, ...this.head });
    this.output.flush();
    this.files.push(path);
  }
}

/** Rows one by one would be a write each, and in a compressed file twenty bytes more. */
class Buffered implements ByteOutput {
  private pieces: Uint8Array[] = [];

  constructor(private readonly output: ByteOutput) {}

  write(bytes: Uint8Array): void {
    this.pieces.push(bytes);
  }

  flush(): void {
    if (this.pieces.length === 0) return;
    this.output.write(Buffer.concat(this.pieces));
    this.pieces = [];
  }

  close(): void {
    this.flush();
    this.output.close();
  }
}
