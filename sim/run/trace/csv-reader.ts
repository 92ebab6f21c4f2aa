import { createReadStream } from 'node:fs';
import type { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { StandoffError } from '../../base/index.js';
import type { TraceBlock } from './block.gen.js';
import { COLUMN_ROWS } from './columns.js';
import { SOURCE_BOX } from './csv-format.js';
import { CsvParser } from './csv-parser.js';

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
