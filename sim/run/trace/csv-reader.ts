import { createReadStream } from 'node:fs';
import type { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { placeText, StandoffError } from '../../base/index.js';
import { newBlock, type TraceBlock } from './block.gen.js';
import { BLOCK_TICKS, COLUMN_ROWS } from './columns.js';
import {
  BOX_HEADING_LINE,
  BOX_HEADINGS,
  FORMAT_LINE,
  HEADING_LINE,
  HEADINGS,
  type Heading,
  INTEGER_RANGES,
  SOURCE_BOX,
} from './csv-format.js';

/** No row of this format comes near this length; a longer line is another kind of file. */
const LONGEST_LINE = 4096;
/** The spellings that the writer uses; what else `Number` takes (blanks, `0x10`, `.5`) has been tampered with. */
const REAL = /^(?:-?(?:\d+(?:\.\d+)?(?:e[+-]\d+)?|Infinity)|NaN)$/;
const REMEDY = 'is the file whole, and was it written by `standoff simulate --trace` or `standoff watch --save`?';

/**
 * Reads a trace from text that comes in pieces of any size. `push` calls `take` with each full block, and with what
 * came before a gap. Two blocks take turns: one that was handed over stays as it is until the next one is.
 */
export class CsvParser {
  /** What the head said, by name. */
  readonly head: Record<string, string> = {};
  /** Rows read. */
  rows = 0;
  private rest = '';
  private line = 0;
  private block: TraceBlock = newBlock();
  private other: TraceBlock = newBlock();
  private next_tick = -1;
  private part: 'format' | 'head' | 'rows' = 'format';
  private columns: readonly Heading[] = HEADINGS;
  /** From a box: ticks may be left out, and only what a box knows is there. */
  private from_box = false;

  constructor(
    private readonly file: string,
    private readonly take: (block: TraceBlock) => void,
  ) {}

  /** @throws StandoffError `trace-format`, `trace-value`, with file, line and column */
  push(text: string): void {
    this.rest += text;
    let from = 0;
    for (let end = this.rest.indexOf('\n'); end >= 0; end = this.rest.indexOf('\n', from)) {
      this.line++;
      this.oneLine(this.rest.slice(from, end));
      from = end + 1;
    }
    this.rest = this.rest.slice(from);
    if (this.rest.length > LONGEST_LINE) {
      this.line++;
      throw this.formatError(1, `a line of more than ${LONGEST_LINE} characters`);
    }
  }

  /** The end of the text: hands over the last block. @throws StandoffError for a row that is cut off */
  finish(): void {
    this.line++;
    if (this.rest !== '') throw this.formatError(1, 'the last row is cut off');
    if (this.part !== 'rows') throw this.formatError(1, 'the file ends before the line of column names');
    this.flush();
  }

  private oneLine(line: string): void {
    if (this.part === 'rows') this.row(line);
    else if (this.part === 'format') this.format(line);
    else if (line.startsWith('#')) this.headLine(line);
    else this.headings(line);
  }

  private format(line: string): void {
    if (line !== FORMAT_LINE) {
      throw this.formatError(1, `the file begins with ${quote(line)} and not with '${FORMAT_LINE}'`);
    }
    this.part = 'head';
  }

  private headLine(line: string): void {
    const match = /^# ([\w.-]+): (.*)$/.exec(line);
    if (!match) throw this.formatError(1, `${quote(line)} is not of the form '# name: value'`);
    this.head[match[1]] = match[2];
  }

  private headings(line: string): void {
    this.from_box = this.head.source === SOURCE_BOX;
    const heading_line = this.from_box ? BOX_HEADING_LINE : HEADING_LINE;
    if (line !== heading_line) {
      const wanted = heading_line.split(',');
      const found = line.split(',');
      const at = wanted.findIndex((name, index) => found[index] !== name);
      const place = at < 0 ? wanted.length : at;
      const column = found.slice(0, place).join(',').length + (place > 0 ? 2 : 1);
      throw this.formatError(
        column,
        at < 0
          ? `${found.length} columns where there are ${wanted.length}`
          : `column ${at + 1} is ${quote(found[at] ?? '')} and not '${wanted[at]}'`,
      );
    }
    this.part = 'rows';
    if (!this.from_box) return;
    this.columns = BOX_HEADINGS;
    for (const block of [this.block, this.other]) forgetUnknown(block);
  }

  private row(line: string): void {
    const { columns } = this;
    const cells = line.split(',');
    if (cells.length !== columns.length + 1) {
      throw this.formatError(line.length + 1, `${cells.length} cells where there are ${columns.length + 1} columns`);
    }
    const tick = this.tickOf(cells);
    if (tick !== this.next_tick) this.flush();
    const { block } = this;
    if (block.count === 0) block.first_tick = tick;
    for (let column = 0; column < columns.length; column++) {
      const { column: name, type, heading } = columns[column];
      const cell = cells[column + 1];
      const value = Number(cell);
      if (type === 'f32') {
        if (!REAL.test(cell)) {
          throw this.valueError(cells, column + 1, `${heading} is ${quote(cell)}, which is no number`);
        }
      } else {
        const [least, most] = INTEGER_RANGES[type];
        if (!/^-?\d+$/.test(cell) || value < least || value > most) {
          throw this.valueError(
            cells,
            column + 1,
            `${heading} is ${quote(cell)}, which is no whole number in ${least}…${most}`,
          );
        }
      }
      block[name][block.count] = value;
    }
    block.count++;
    this.rows++;
    this.next_tick = tick + 1;
    if (block.count === BLOCK_TICKS) this.flush();
  }

  private tickOf(cells: readonly string[]): number {
    const { next_tick } = this;
    const tick = Number(cells[0]);
    const follows = next_tick < 0 || tick === next_tick || (this.from_box && tick > next_tick);
    if (/^\d{1,15}$/.test(cells[0]) && follows) return tick;
    const wanted = next_tick < 0 ? 'a tick' : this.from_box ? `at least ${next_tick}` : `${next_tick}`;
    throw this.valueError(cells, 0, `${quote(cells[0])} where the tick is ${wanted}`);
  }

  private flush(): void {
    const full = this.block;
    if (full.count === 0) return;
    this.block = this.other;
    this.block.count = 0;
    this.other = full;
    this.take(full);
  }

  private formatError(column: number, what: string): StandoffError {
    const place = placeText({ file: this.file, line: this.line, column });
    return new StandoffError('trace-format', `${place}: ${what}`, REMEDY);
  }

  private valueError(cells: readonly string[], index: number, what: string): StandoffError {
    const column = cells.slice(0, index).join(',').length + (index > 0 ? 2 : 1);
    const place = placeText({ file: this.file, line: this.line, column });
    return new StandoffError('trace-value', `${place}: ${what}`, REMEDY);
  }
}

/** Fills the columns that a box does not know with what stands for unknown. */
function forgetUnknown(block: TraceBlock): void {
  for (const row of HEADINGS) if (row.type === 'f32' && !BOX_HEADINGS.includes(row)) block[row.column].fill(Number.NaN);
}

/** Foreign text in a message: short, and with nothing that moves a terminal. */
function quote(text: string): string {
  const short = text.length > 40 ? `${text.slice(0, 40)}…` : text;
  return JSON.stringify(short);
}

/** Far less than the shortest full block (a thousand rows of forty cells, 80 000 bytes): no piece completes two. */
const PIECE_BYTES = 16384;

/**
 * Reads a trace file block by block; a name that ends in `.gz` is decompressed. A block stays as it is until the
 * next one is asked for; a caller that wants to keep it must copy. Memory does not grow with the file.
 * @param head is filled with what the head of the file says, before the first block comes
 * @throws StandoffError `file-unreadable`; `trace-format` or `trace-value` with line and column; `trace-damaged` for
 *         a compressed file that ends too early or is not one
 */
export async function* readCsv(path: string, head: Record<string, string> = {}): AsyncGenerator<TraceBlock> {
  const full: TraceBlock[] = [];
  // Gaps make blocks shorter than a piece; each is copied before another takes its place.
  const parser: CsvParser = new CsvParser(path, (block) => {
    full.push(parser.head.source === SOURCE_BOX ? copyOf(block) : block);
  });
  const decoder = new TextDecoder();
  const stream = open(path);
  try {
    for await (const chunk of stream) {
      const bytes = chunk as Uint8Array;
      for (let at = 0; at < bytes.length; at += PIECE_BYTES) {
        parser.push(decoder.decode(bytes.subarray(at, at + PIECE_BYTES), { stream: true }));
        Object.assign(head, parser.head);
        yield* full.splice(0);
      }
    }
  } catch (error) {
    throw error instanceof StandoffError ? error : streamError(path, error, parser.rows);
  } finally {
    stream.destroy();
  }
  parser.push(decoder.decode());
  parser.finish();
  Object.assign(head, parser.head);
  yield* full.splice(0);
}

function copyOf(block: TraceBlock): TraceBlock {
  const columns = COLUMN_ROWS.map(({ name }) => [name, block[name].slice(0, block.count)]);
  return { first_tick: block.first_tick, count: block.count, ...Object.fromEntries(columns) };
}

function open(path: string): Readable {
  const file = createReadStream(path);
  if (!path.endsWith('.gz')) return file;
  const gunzip = createGunzip();
  // pipe passes on neither errors nor the end of interest.
  file.on('error', (error) => gunzip.destroy(error));
  gunzip.on('close', () => file.destroy());
  return file.pipe(gunzip);
}

function streamError(path: string, error: unknown, rows: number): StandoffError {
  const { code = 'unknown error' } = error as NodeJS.ErrnoException;
  if (code.startsWith('Z_')) {
    return new StandoffError(
      'trace-damaged',
      `${path} is damaged or cut off after ${rows} whole rows (${code})`,
      'copy it again; what was read up to there is good',
    );
  }
  return new StandoffError('file-unreadable', `${path} cannot be read (${code})`, 'look at the name and the rights');
}
