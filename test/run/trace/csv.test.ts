import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { StandoffError } from '../../../sim/base/index.js';
import {
  CsvParser,
  CsvWriter,
  HEADING_LINE,
  openCsvWriter,
  readCsv,
  type TraceBlock,
} from '../../../sim/run/trace/index.js';
import { thereOrDemanded } from '../../support/demanded.js';
import { anyRow, blockOf, fullBlock, rowsOf } from './made-blocks.js';

const folder = mkdtempSync(join(tmpdir(), 'standoff-trace-'));
afterAll(() => rmSync(folder, { recursive: true }));
let files = 0;
const newName = (ending: string) => join(folder, `${files++}${ending}`);

/** Writes blocks into a string. */
function textOf(head: Record<string, string | number>, blocks: readonly TraceBlock[]): string {
  const pieces: Uint8Array[] = [];
  const writer = new CsvWriter({ write: (bytes) => pieces.push(bytes), close() {} }, head);
  for (const block of blocks) writer.block(block);
  writer.close();
  return Buffer.concat(pieces).toString();
}

function parse(text: string, piece = text.length) {
  const rows: Record<string, number>[] = [];
  const parser = new CsvParser('run.csv', (block) => rows.push(...rowsOf(block)));
  for (let at = 0; at < text.length; at += piece) parser.push(text.slice(at, at + piece));
  parser.finish();
  return { rows, head: parser.head };
}

async function readAll(path: string) {
  const rows: Record<string, number>[] = [];
  const head: Record<string, string> = {};
  for await (const block of readCsv(path, head)) rows.push(...rowsOf(block));
  return { rows, head };
}

/** The StandoffError that something ends in. */
async function errorOf(work: () => unknown): Promise<StandoffError> {
  try {
    await work();
  } catch (error) {
    if (error instanceof StandoffError) return error;
    throw error;
  }
  throw new Error('nothing was wrong');
}

describe('trace file', () => {
  it('begins with the format, what the run was made from, and the headings; one line a tick', () => {
    const lines = textOf({ seed: 7, module_sha256: '3f' }, [fullBlock(0, 3)]).split('\n');
    expect(lines.slice(0, 4)).toEqual(['# standoff trace 2', '# seed: 7', '# module_sha256: 3f', HEADING_LINE]);
    expect(lines.slice(4).map((line) => line.split(',')[0])).toEqual(['0', '1', '2', '']);
  });

  it('reads back bit for bit, for any values, in pieces of any size', () => {
    fc.assert(
      fc.property(
        fc.array(anyRow, { minLength: 1, maxLength: 20 }),
        fc.integer({ min: 0, max: 1e9 }),
        fc.integer({ min: 1, max: 3000 }),
        (rows, tick, piece) => {
          const block = blockOf(tick, rows);
          expect(parse(textOf({ seed: 1 }, [block]), piece).rows).toEqual(rowsOf(block));
        },
      ),
      { numRuns: 60 },
    );
  });

  it('cuts a long run into full blocks again', () => {
    const sizes: number[] = [];
    const parser = new CsvParser('run.csv', (block) => sizes.push(block.count));
    parser.push(textOf({}, [fullBlock(0, 700), fullBlock(700), fullBlock(1700, 500)]));
    parser.finish();
    expect(sizes).toEqual([1000, 1000, 200]);
  });

  it.each(['.csv', '.csv.gz'])('reads back from a %s file, with its head', async (ending) => {
    const path = newName(ending);
    const writer = openCsvWriter(path, { seed: 7, 'box.cut_height_mm': 1.5 }, false);
    const blocks = [fullBlock(), fullBlock(1000), fullBlock(2000, 123)];
    for (const block of blocks) writer.block(block);
    expect(writer.rows).toBe(2123);
    writer.close();
    writer.close();
    const { rows, head } = await readAll(path);
    expect(rows).toEqual(blocks.flatMap(rowsOf));
    expect(head).toEqual({ seed: '7', 'box.cut_height_mm': '1.5' });
  });

  it('is whole after each block, without being closed: plain and compressed', async () => {
    for (const ending of ['.csv', '.csv.gz']) {
      const path = newName(ending);
      const writer = openCsvWriter(path, {}, false);
      writer.block(fullBlock());
      const bytes = readFileSync(path);
      const text = ending === '.csv' ? `${bytes}` : `${gunzipSync(bytes)}`;
      expect(text.endsWith('\n')).toBe(true);
      expect(text.split('\n')).toHaveLength(2 + 1000 + 1);
      expect((await readAll(path)).rows).toHaveLength(1000);
      writer.close();
    }
  });

  it('reads a file that was compressed as one piece by somebody else', async () => {
    const path = newName('.csv.gz');
    writeFileSync(path, gzipSync(textOf({}, [fullBlock(), fullBlock(1000)])));
    expect((await readAll(path)).rows).toHaveLength(2000);
  });

  it('is never written over an existing file, unless forced', async () => {
    const path = newName('.csv');
    writeFileSync(path, 'mine');
    const error = await errorOf(() => openCsvWriter(path, {}, false));
    expect(error).toMatchObject({ code: 'file-exists' });
    expect(error.message).toContain(path);
    expect(error.message).toContain('--force');
    expect(readFileSync(path, 'utf8')).toBe('mine');
    openCsvWriter(path, {}, true).close();
    expect((await readAll(path)).rows).toEqual([]);
  });

  it('says so when it cannot be written', async () => {
    expect(await errorOf(() => openCsvWriter(join(folder, 'none', 'x.csv'), {}, false))).toMatchObject({
      code: 'file-unwritable',
    });
  });

  it.runIf(thereOrDemanded(existsSync('/dev/full')))('says so when the disk is full', async () => {
    const error = await errorOf(() => openCsvWriter('/dev/full', {}, true));
    expect(error.code).toBe('file-unwritable');
    expect(error.message).toContain('ENOSPC');
  });

  it('refuses a head that would break the format', async () => {
    for (const head of [{ 'a b': 1 }, { '': 1 }, { name: 'two\nlines' }]) {
      expect(await errorOf(() => textOf(head, []))).toMatchObject({ code: 'trace-head' });
    }
  });

  it('writes nothing for an empty block', () => {
    let pieces = 0;
    const writer = new CsvWriter({ write: () => pieces++, close() {} }, {});
    writer.block(blockOf(0, []));
    // The head alone: in a compressed file each piece costs some twenty bytes, be it empty.
    expect(pieces).toBe(1);
  });
});

describe('a file that is no trace', () => {
  const good = textOf({ seed: 1 }, [fullBlock(0, 3)]);
  const lines = good.split('\n');
  /** Line of the first row. */
  const ROW = 3;
  /** The good file with one cell changed (line and cell count from 0). */
  const withCell = (line: number, cell: number, text: string) =>
    lines
      .map((content, index) =>
        index === line
          ? content
              .split(',')
              .map((old, at) => (at === cell ? text : old))
              .join(',')
          : content,
      )
      .join('\n');

  it.each([
    ['is empty', '', 'run.csv:1:1'],
    ['is of another format', `hello\n${good}`, 'run.csv:1:1'],
    ['is of another version', good.replace('trace 2', 'trace 1'), 'run.csv:1:1'],
    ['has a head line that is none', good.replace('# seed: 1', '# seed 1'), 'run.csv:2:1'],
    ['ends in its head', '# standoff trace 2\n# seed: 1\n', 'run.csv:3:1'],
    ['has another column', good.replace('reading_counts', 'reading_mV'), 'run.csv:3:26'],
    ['has a column too few', good.replace(/,lost_steps\n/, '\n'), 'run.csv:3:'],
    ['has a column too many', good.replace('lost_steps\n', 'lost_steps,more\n'), 'run.csv:3:'],
    ['has a row that is cut off', good.slice(0, -5), 'run.csv:6:1'],
    ['has a row with a cell too few', good.replace(/^1,\d+,/m, '1,'), 'run.csv:5:'],
    ['has an empty line', good.replace('\n2,', '\n\n2,'), 'run.csv:6:1'],
    ['leaves a tick out', withCell(ROW + 1, 0, '2'), 'run.csv:5:1'],
    ['has a word for a tick', withCell(ROW, 0, 'x'), 'run.csv:4:1'],
    ['has a word for a whole number', withCell(ROW, 1, 'on'), 'run.csv:4:3'],
    ['has a whole number out of range', withCell(ROW, 1, '65536'), 'run.csv:4:3'],
    ['has a fraction for a whole number', withCell(ROW, 2, '1.5'), 'run.csv:4:'],
    ['has an empty cell', withCell(ROW, 14, ''), 'run.csv:4:'],
    ['has a blank in a real', withCell(ROW, 14, ' 1'), 'run.csv:4:'],
    ['has a hexadecimal real', withCell(ROW, 14, '0x5'), 'run.csv:4:'],
    ['has a word for a real', withCell(ROW, 14, 'volt'), 'run.csv:4:'],
    ['has a line without end', `# standoff trace 2\n# ${'x'.repeat(10000)}`, 'run.csv:2:1'],
  ])('that %s is refused with its place', async (_, text, place) => {
    const error = await errorOf(() => parse(text));
    expect(error.code).toMatch(/^trace-(format|value)$/);
    expect(error.what).toContain(place);
    expect(error.remedy).not.toBe('');
  });

  it('names the column of a bad value', async () => {
    const error = await errorOf(() => parse(withCell(ROW, 14, 'volt')));
    expect(error.what).toContain('measured_V');
    expect(error.what).toContain('volt');
  });

  it('is refused with the file, whatever the bytes', async () => {
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ minLength: 1, maxLength: 500 }), async (bytes) => {
        const path = newName('.csv');
        writeFileSync(path, bytes);
        const error = await errorOf(() => readAll(path));
        expect(error.code).toBe('trace-format');
        expect(error.what).toContain(path);
      }),
      { numRuns: 30 },
    );
  });

  it('is refused when a good file is damaged anywhere, or reads as other values', () => {
    fc.assert(
      fc.property(
        fc.nat({ max: good.length - 1 }),
        fc.constantFrom('\n', ',', '#', 'x', '"', '\0', '-'),
        (at, damage) => {
          fc.pre(good[at] !== damage);
          const bad = good.slice(0, at) + damage + good.slice(at + 1);
          let rows: unknown;
          try {
            rows = parse(bad).rows;
          } catch (error) {
            expect(error).toBeInstanceOf(StandoffError);
            return;
          }
          // A head value or a sign may change without breaking the format.
          const { rows: before } = parse(good);
          const inHead = at < good.indexOf(HEADING_LINE);
          if (!inHead) expect(rows).not.toEqual(before);
        },
      ),
      { numRuns: 200 },
    );
  });

  it('does not exist: says so', async () => {
    for (const name of ['none.csv', 'none.csv.gz']) {
      expect(await errorOf(() => readAll(join(folder, name)))).toMatchObject({ code: 'file-unreadable' });
    }
  });

  it('compressed and cut off: gives the rows up to there, then says how many', async () => {
    const path = newName('.csv.gz');
    const writer = openCsvWriter(path, {}, false);
    for (let second = 0; second < 3; second++) writer.block(fullBlock(second * 1000));
    writer.close();
    const bytes = readFileSync(path);
    writeFileSync(path, bytes.subarray(0, bytes.length - 100));
    let rows = 0;
    const error = await errorOf(async () => {
      for await (const block of readCsv(path)) rows += block.count;
    });
    expect(error.code).toBe('trace-damaged');
    expect(rows).toBe(2000);
    expect(error.what).toMatch(/after 2\d\d\d whole rows/);
  });

  it('named .gz and not compressed: says so', async () => {
    const path = newName('.csv.gz');
    writeFileSync(path, good);
    expect(await errorOf(() => readAll(path))).toMatchObject({ code: 'trace-damaged' });
  });

  it('has a message of one line that does not repeat the foreign bytes to the terminal', async () => {
    const error = await errorOf(() => parse(`\u001b[2J${'y'.repeat(3000)}\n`));
    expect(error.message).not.toContain('\u001b');
    expect(error.message.length).toBeLessThan(300);
  });
});
