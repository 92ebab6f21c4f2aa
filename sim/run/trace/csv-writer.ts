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
import { f32Text } from './f32-text.js';
import { type ByteOutput, openOutput } from './output-file.js';

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
