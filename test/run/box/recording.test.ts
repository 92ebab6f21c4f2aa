import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterAll, describe, expect, it } from 'vitest';
import { type BoxRow, type BoxSink, SavedTrace, TelemetryBlocks } from '../../../sim/run/box/recording.js';
import { BOX_HEADINGS, readCsv, type TraceBlock } from '../../../sim/run/trace/index.js';

const folder = mkdtempSync(join(tmpdir(), 'standoff-saved-'));
afterAll(() => rmSync(folder, { recursive: true }));

const rowAt = (tick: number): BoxRow => ({
  ...Object.fromEntries(BOX_HEADINGS.map(({ column }, index) => [column, (tick + index) % 100])),
  cycles: 99,
  tick,
});

/** Blocks that came out for rows at these ticks. */
function gather(ticks: readonly number[], every_ms = 1) {
  const blocks: TraceBlock[] = [];
  let starts = 1;
  const sink: BoxSink = { block: (block) => blocks.push(structuredClone(block)), restart: () => starts++ };
  const telemetry = new TelemetryBlocks(every_ms, [sink]);
  const gaps = ticks.flatMap((tick) => telemetry.add(rowAt(tick)) ?? []);
  telemetry.flush();
  return { blocks, gaps, telemetry, starts, shapes: blocks.map(({ first_tick, count }) => [first_tick, count]) };
}

const range = (from: number, to: number, step = 1) =>
  Array.from({ length: Math.ceil((to - from) / step) }, (_, index) => from + index * step);

describe('telemetry rows', () => {
  it('become blocks of a second, with what the box knows and NaN elsewhere', () => {
    const { blocks, shapes, gaps } = gather(range(500, 2700));
    expect(shapes).toEqual([
      [500, 1000],
      [1500, 1000],
      [2500, 200],
    ]);
    expect(gaps).toEqual([]);
    for (const { column } of BOX_HEADINGS) expect(blocks[2][column][7], column).toBe(rowAt(2507)[column]);
    for (const column of ['standoff_mm', 'plate_mm', 'true_V', 'x_mm'] as const) {
      expect(blocks[2][column][7], column).toBeNaN();
    }
  });

  it('that are missing are numbered gaps, and end a block', () => {
    const { shapes, gaps, telemetry } = gather([...range(0, 10), ...range(13, 20), ...range(30, 32)]);
    expect(shapes).toEqual([
      [0, 10],
      [13, 7],
      [30, 2],
    ]);
    expect(gaps).toEqual([
      { number: 1, after_tick: 9, before_tick: 13, rows: 3 },
      { number: 2, after_tick: 19, before_tick: 30, rows: 10 },
    ]);
    expect([telemetry.rows, telemetry.lost_rows, telemetry.gaps]).toEqual([19, 13, 2]);
  });

  it('of every eighth tick have a gap only where one of those is missing', () => {
    const { gaps, shapes } = gather([...range(0, 80, 8), ...range(96, 120, 8)], 8);
    expect(gaps).toEqual([{ number: 1, after_tick: 72, before_tick: 96, rows: 2 }]);
    expect(shapes).toHaveLength(13);
  });

  it('that come twice count once', () => {
    expect(gather([5, 5, 6]).shapes).toEqual([[5, 2]]);
  });

  it('of a box that has started again begin again, and that is no gap', () => {
    const { shapes, gaps, starts } = gather([...range(90, 100), ...range(3, 6)]);
    expect([gaps, starts]).toEqual([[], 2]);
    expect(shapes).toEqual([
      [90, 10],
      [3, 3],
    ]);
  });
});

describe('a box that answers again after a silence', () => {
  const silence_ms = 400;
  const resumedAt = async (tick: number) => {
    let starts = 1;
    const telemetry = new TelemetryBlocks(1, [{ block: () => {}, restart: () => starts++ }]);
    for (const before of range(90, 100)) telemetry.add(rowAt(before));
    await new Promise((resolve) => setTimeout(resolve, silence_ms));
    telemetry.resume(tick, 1);
    return starts;
  };

  it('has started again when its ticks are behind, or fewer than the silence was long', async () => {
    expect(await Promise.all([resumedAt(50), resumedAt(99), resumedAt(300)])).toEqual([2, 2, 2]);
  });

  it('has gone on when it is older than the silence', async () => {
    expect(await resumedAt(100_000)).toBe(1);
  });
});

describe('a saved trace', () => {
  const save = (name: string, ticks: readonly number[], every_ms = 1) => {
    const saved = new SavedTrace(join(folder, name), { every_ms }, false);
    const telemetry = new TelemetryBlocks(every_ms, [saved]);
    for (const tick of ticks) telemetry.add(rowAt(tick));
    telemetry.flush();
    return saved;
  };
  const ticksIn = async (path: string, head = {}) => {
    const ticks: number[] = [];
    for await (const { first_tick, count } of readCsv(path, head)) ticks.push(...range(first_tick, first_tick + count));
    return ticks;
  };

  it.each([
    ['cut.csv', 1],
    ['cut.csv.gz', 1],
    ['every-8.csv', 8],
  ])('%s reads back with its gaps and its head', async (name, every_ms) => {
    const ticks = [...range(0, 2400, every_ms), ...range(4000, 4400, every_ms)];
    const saved = save(name, ticks, every_ms);
    saved.close();
    const head = {};
    expect(await ticksIn(saved.files[0], head)).toEqual(ticks);
    expect(head).toEqual({ source: 'box', every_ms: `${every_ms}` });
    expect(saved.rows).toBe(ticks.length);
  });

  it('has another file for each start of the box', async () => {
    const saved = save('twice.csv', [...range(700, 1800), ...range(0, 900), ...range(2, 5)]);
    saved.close();
    expect(saved.files.map((file) => file.slice(folder.length + 1))).toEqual([
      'twice.csv',
      'twice-2.csv',
      'twice-3.csv',
    ]);
    expect(await ticksIn(saved.files[0])).toEqual(range(700, 1800));
    expect(await ticksIn(saved.files[1])).toEqual(range(0, 900));
    expect(await ticksIn(saved.files[2])).toEqual(range(2, 5));
  });

  it('is whole on the disk after each flush, without being closed', async () => {
    const saved = save('open.csv.gz', range(0, 2500));
    saved.flush();
    expect(await ticksIn(saved.files[0])).toEqual(range(0, 2500));
    expect(`${gunzipSync(readFileSync(saved.files[0]))}`).toMatch(/\n2499,[^\n]*\n$/);
    saved.close();
  });

  it('never writes over a file that is there', () => {
    save('mine.csv', [1]).close();
    expect(() => save('mine.csv', [1])).toThrow('exists');
  });
});
