import {
  type ByteOutput,
  CsvWriter,
  openOutput,
  SOURCE_BOX,
  type TraceBlock,
  type TraceSink,
} from '../../run/trace/index.js';

/**
 * What a watched box sent, as trace files. Each start of the box has a file of its own, because its ticks begin again:
 * `cut.csv`, then `cut-2.csv`. Rows are written about once a second; whatever ends the watching leaves whole files.
 */
export class SavedTrace implements TraceSink {
  /** Names of the files, in their order. */
  readonly files: string[] = [];
  rows = 0;
  private writer!: CsvWriter;
  private output!: Buffered;
  private last_tick = -1;

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
    if (block.count === 0) return;
    if (block.first_tick <= this.last_tick) this.startAnew();
    this.writer.block(block);
    this.rows += block.count;
    this.last_tick = block.first_tick + block.count - 1;
  }

  /** What comes belongs to another start of the box. Nothing happens before the first row. */
  startAnew(): void {
    if (this.last_tick < 0) return;
    this.close();
    this.open();
  }

  /** Brings everything to the disk. */
  flush(): void {
    this.output.flush();
  }

  close(): void {
    this.writer.close();
  }

  private open(): void {
    const path = numbered(this.path, this.files.length + 1);
    this.output = new Buffered(openOutput(path, this.force));
    this.writer = new CsvWriter(this.output, { source: SOURCE_BOX, ...this.head });
    this.output.flush();
    this.files.push(path);
    this.last_tick = -1;
  }
}

/** `cut.csv`, `cut-2.csv`, `cut-3.csv`; the same with `.csv.gz`. */
const numbered = (path: string, number: number): string =>
  number === 1 ? path : path.replace(/(\.csv(?:\.gz)?)$/, `-${number}$1`);

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
