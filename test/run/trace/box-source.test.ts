import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import {
  BOX_HEADINGS,
  COLUMN_ROWS,
  openCsvWriter,
  readCsv,
  SOURCE_BOX,
  type TraceBlock,
} from '../../../sim/run/trace/index.js';
import { fullBlock, rowsOf } from './made-blocks.js';

const folder = mkdtempSync(join(tmpdir(), 'standoff-trace-'));
afterAll(() => rmSync(folder, { recursive: true }));
let files = 0;

const KNOWN = BOX_HEADINGS.map(({ column }) => column);

/** Writes blocks as a box's trace; @returns the file's name. */
function written(blocks: readonly TraceBlock[], ending = '.csv'): string {
  const path = join(folder, `${files++}${ending}`);
  const writer = openCsvWriter(path, { source: SOURCE_BOX, every_ms: 1 }, false);
  for (const block of blocks) writer.block(block);
  writer.close();
  return path;
}

async function readBlocks(path: string): Promise<TraceBlock[]> {
  const blocks: TraceBlock[] = [];
  for await (const block of readCsv(path)) blocks.push(structuredClone(block));
  return blocks;
}

/** What of a row a box knows. */
const knownOf = (rows: readonly Record<string, number>[]) =>
  rows.map((row) => Object.fromEntries(['tick', ...KNOWN].map((name) => [name, row[name]])));

describe('a trace that came from a box', () => {
  it('has inputs and outputs of the module and the contact read back, and nothing that only the world knows', () => {
    const names = readFileSync(written([]), 'utf8').trim().split('\n').at(-1).split(',');
    expect(names).toEqual(['tick', ...BOX_HEADINGS.map(({ heading }) => heading)]);
    expect(names).toContain('measured_V');
    expect(names).toContain('relay_0or1');
    for (const truth of ['standoff_mm', 'plate_mm', 'torch_mm', 'true_V', 'burning_0or1', 'x_mm', 'line']) {
      expect(names).not.toContain(truth);
    }
  });

  it('reads back what the box knew; the rest is NaN, or 0 in whole numbers', async () => {
    const [block] = await readBlocks(written([fullBlock(40, 5)]));
    expect(knownOf(rowsOf(block))).toEqual(knownOf(rowsOf(fullBlock(40, 5))));
    for (const { name, type, by } of COLUMN_ROWS) {
      if (by !== 'box') expect(block[name][3], name).toBe(type === 'f32' ? Number.NaN : 0);
    }
  });

  it.each(['.csv', '.csv.gz'])('may leave ticks out: a gap ends a block (%s)', async (ending) => {
    const parts = [fullBlock(10, 4), fullBlock(20, 1000), fullBlock(1020, 7), fullBlock(5000, 1)];
    const blocks = await readBlocks(written(parts, ending));
    expect(blocks.map(({ first_tick, count }) => [first_tick, count])).toEqual([
      [10, 4],
      [20, 1000],
      [1020, 7],
      [5000, 1],
    ]);
    expect(knownOf(blocks.flatMap(rowsOf))).toEqual(knownOf(parts.flatMap(rowsOf)));
  });

  it('with every eighth tick alone reads back row by row, however many rows come in one piece', async () => {
    const parts = Array.from({ length: 900 }, (_, index) => fullBlock(8 * index, 1));
    const blocks = await readBlocks(written(parts));
    expect(blocks).toHaveLength(900);
    expect(knownOf(blocks.flatMap(rowsOf))).toEqual(knownOf(parts.flatMap(rowsOf)));
  });

  it('is refused where its ticks go back', async () => {
    const path = written([fullBlock(20, 2), fullBlock(21, 1)]);
    await expect(readBlocks(path)).rejects.toMatchObject({
      code: 'trace-value',
      what: `${path}:7:1: "21" where the tick is at least 22`,
    });
  });

  it('is refused when its head does not say that it came from a box', async () => {
    const other = join(folder, `${files++}.csv`);
    writeFileSync(other, readFileSync(written([fullBlock(0, 1)]), 'utf8').replace('# source: box\n', ''));
    await expect(readBlocks(other)).rejects.toMatchObject({ code: 'trace-format' });
  });
});
