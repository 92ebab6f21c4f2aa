import { closeSync, openSync, writeSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { StandoffError } from '../../base/index.js';
import type { TraceBlock } from './block.gen.js';
import type { TraceSink } from './columns.js';
import {
  BOX_HEADING_LINE,
  BOX_HEADINGS,
  FORMAT_LINE,
  HEADING_LINE,
  HEADINGS,
  type Heading,
  SOURCE_BOX,
  type TraceHead,
} from './csv-format.js';

/** Powers of ten up to the digits that an f32 below 1 can need after the point before it is written otherwise. */
const SCALES = [1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];

/** The shortest decimal that reads back, through f64, as the same f32. @param value an f32 */
export function f32Text(value: number): string {
  if (value === 0) return Object.is(value, -0) ? '-0' : '0';
  const size = value < 0 ? -value : value;
  if (size >= 1e-3 && size < 1e6) {
    for (let digits = 0; digits < SCALES.length; digits++) {
      const scale = SCALES[digits];
      // Divided once, so this is the f64 nearest to the decimal; its own text has no more digits.
      const rounded = Math.round(value * scale) / scale;
      if (Math.fround(rounded) === value) return `${rounded}`;
    }
  }
  if (!Number.isFinite(value)) return `${value}`;
  for (let digits = 1; digits < 9; digits++) {
    const text = value.toPrecision(digits);
    if (Math.fround(Number(text)) === value) return `${Number(text)}`;
  }
  // Nine significant digits tell any two f32 apart (IEEE 754-2019, 5.12.2: 1 + ⌈24·log10 2⌉).
  return `${Number(value.toPrecision(9))}`;
}

/** Where bytes go; written at once, so that nothing is left behind when the process is interrupted. */
export interface ByteOutput {
  write(bytes: Uint8Array): void;
  close(): void;
}

/**
 * Opens a file for writing. A name that ends in `.gz` is compressed: every piece becomes a gzip member of its own,
 * which RFC 1952 (2.2) allows, so that the file is whole after each piece.
 * @throws StandoffError `file-exists` unless `force`; `file-unwritable` when it cannot be opened or written
 */
export function openOutput(path: string, force: boolean): ByteOutput {
  let file: number;
  try {
    file = openSync(path, force ? 'w' : 'wx');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') {
      throw new StandoffError('file-exists', `${path} exists`, 'choose another name, or overwrite it with --force');
    }
    throw unwritable(path, error);
  }
  const compressed = path.endsWith('.gz');
  return {
    write(bytes) {
      const piece = compressed ? gzipSync(bytes) : bytes;
      try {
        for (let at = 0; at < piece.length; ) at += writeSync(file, piece, at);
      } catch (error) {
        throw unwritable(path, error);
      }
    },
    close() {
      closeSync(file);
    },
  };
}

function unwritable(path: string, error: unknown): StandoffError {
  const { code = 'unknown error' } = error as NodeJS.ErrnoException;
  return new StandoffError(
    'file-unwritable',
    `${path} cannot be written (${code})`,
    'look at the folder, the rights and the space on the disk',
  );
}

/**
 * Writes a run as it goes by, in whole rows and whole blocks, at once: an interrupted run leaves a file that is
 * complete up to its last block, whether or not `close` is reached.
 */
export class CsvWriter implements TraceSink {
  /** Rows written. */
  rows = 0;
  private closed = false;
  private readonly headings: readonly Heading[];

  /** @throws StandoffError `trace-head` for a name or a value that the head cannot hold */
  constructor(
    private readonly output: ByteOutput,
    head: TraceHead,
  ) {
    const lines = [FORMAT_LINE];
    for (const [name, value] of Object.entries(head)) lines.push(headLine(name, `${value}`));
    const from_box = head.source === SOURCE_BOX;
    this.headings = from_box ? BOX_HEADINGS : HEADINGS;
    lines.push(from_box ? BOX_HEADING_LINE : HEADING_LINE, '');
    output.write(Buffer.from(lines.join('\n')));
  }

  /** @throws StandoffError when the output fails, such as a disk that is full */
  block(block: TraceBlock): void {
    if (block.count === 0) return;
    this.output.write(Buffer.from(rowsText(block, this.headings)));
    this.rows += block.count;
  }

  close(): void {
    if (this.closed) return;
    this.closed = true;
    this.output.close();
  }
}

/**
 * Opens a trace file: CSV, or CSV in gzip when the name ends in `.gz`.
 * @throws StandoffError `file-exists`, `file-unwritable`
 */
export function openCsvWriter(path: string, head: TraceHead, force: boolean): CsvWriter {
  return new CsvWriter(openOutput(path, force), head);
}

function headLine(name: string, value: string): string {
  if (!/^[\w.-]+$/.test(name) || /[\r\n]/.test(value)) {
    throw new StandoffError(
      'trace-head',
      `the head of a trace cannot hold ${JSON.stringify(name)}: ${JSON.stringify(value)}`,
      'use a name of letters, digits, _, . and -, and a value of one line',
    );
  }
  return `# ${name}: ${value}`;
}

function rowsText(block: TraceBlock, headings: readonly Heading[]): string {
  const rows: string[] = [];
  const cells: string[] = new Array(headings.length + 1);
  for (let row = 0; row < block.count; row++) {
    cells[0] = `${block.first_tick + row}`;
    for (let column = 0; column < headings.length; column++) {
      const { column: name, type } = headings[column];
      const value = block[name][row];
      cells[column + 1] = type === 'f32' ? f32Text(value) : `${value}`;
    }
    rows.push(cells.join(','));
  }
  rows.push('');
  return rows.join('\n');
}
