import { Piscina } from 'piscina';
import { StandoffError } from '../base/index.js';
import { firstRefusal } from '../run/setup/contradictions.js';
import { likelyPaths } from '../run/setup/known.js';
import { ROWS_BY_PATH, SECTION_ROWS } from '../run/setup/rows.js';
import { compiledFolder } from './build.js';
import type { Campaign } from './case-runner.js';
import { type Cell, UNTRIED } from './cell.js';
import { valueAt } from './ranges.js';
import type { CellTask } from './worker.js';

/** One axis of a map: a parameter of the box and the values that are tried. */
export interface MapAxis {
  readonly name: string;
  readonly unit: string;
  readonly values: readonly number[];
  /** The value of the setup. */
  readonly present: number;
  /** What the box takes at most and at least. */
  readonly least: number;
  readonly most: number;
}

/** What cuts came to over two parameters, each pair of values one cell. */
export interface GainMap {
  readonly x: MapAxis;
  readonly y: MapAxis;
  /** Rows from the least y to the greatest, cells from the least x. */
  readonly cells: readonly (readonly Cell[])[];
  /** The same cuts with the setup as it is. */
  readonly present: Cell;
}

/** Middle of the region in which every requirement was kept and the standoff was held best, and its distance from each edge. */
export interface MapCentre {
  readonly x: number;
  readonly y: number;
  /** How far the region reaches from here, in the axis's unit; `open`: to the edge of the map, so it may reach further. */
  readonly edges: Readonly<
    Record<'left' | 'right' | 'lower' | 'upper', { readonly distance: number; readonly open: boolean }>
  >;
  /** Cells of the region. */
  readonly cells: number;
  /** What the cuts came to there. */
  readonly cell: Cell;
}

/** A cell of the region holds the standoff at most this much worse than the best cell. */
const MUCH_WORSE = 1.25;

/**
 * @param words `name`, or `name=low:high`; without a range from a third of the present value to three times it
 * @throws StandoffError `map-unknown`, `map-range`
 */
export function mapAxis(words: string, campaign: Campaign, steps: number): MapAxis {
  const [given = '', text] = words.split('=');
  const name = given.trim().replace(/^box\./, '');
  const row = SECTION_ROWS.box.find((one) => one.path === `box.${name}`);
  if (row === undefined) {
    if (ROWS_BY_PATH.has(name)) {
      const remedy = 'a map is over two parameters of the section box; change this one with --set';
      throw new StandoffError('map-elsewhere', `${name} is not in the box`, remedy);
    }
    const longer = SECTION_ROWS.box.map((one) => one.path.slice(4)).filter((path) => path.startsWith(`${name}_`));
    const near = name !== '' && longer.length > 0 ? longer.slice(0, 3).join(' or ') : likelyPaths(name);
    const remedy = near ? `did you mean ${near}?` : 'standoff schema lists what there is';
    throw new StandoffError('map-unknown', `there is no parameter ${name}`, remedy);
  }
  const present = valueAt(campaign.setup, `box.${name}`) as number;
  const [low, high] =
    text === undefined ? [Math.max(row.min, present / 3), Math.min(row.max, present * 3)] : ends(text);
  if (!(low < high) || low < row.min || high > row.max || (row.integer && Math.round(low) === Math.round(high))) {
    const what = `${name} from ${low} to ${high} is no range for it`;
    throw new StandoffError(
      'map-range',
      what,
      `give ${name}=low:high within ${row.min} to ${row.max} ${row.unit}`.trimEnd(),
    );
  }
  const even = Array.from({ length: steps }, (_, at) => low + ((high - low) * at) / (steps - 1));
  return { name, unit: row.unit, values: tried(even, row), present, least: row.min, most: row.max };
}

/** Values that can be typed: whole where the box wants it, else with four digits, within the row, each once. */
function tried(values: readonly number[], { integer, min, max }: (typeof SECTION_ROWS.box)[number]): number[] {
  const typed = values.map((value) => (integer ? Math.round(value) : Number(value.toPrecision(4))));
  return [...new Set(typed.map((value) => Math.min(max, Math.max(min, value))))];
}

function ends(text: string): [number, number] {
  const [low, high, more] = text.split(':');
  return more === undefined && low !== undefined && high !== undefined && low.trim() !== '' && high.trim() !== ''
    ? [Number(low), Number(high)]
    : [Number.NaN, Number.NaN];
}

/** Cuts the same random cases in every cell. @throws what a worker throws, such as a contradiction of parameters */
export async function runMap(
  campaign: Campaign,
  x: MapAxis,
  y: MapAxis,
  cuts: number,
  workers: number,
  onCell: (done: number) => void,
  signal?: AbortSignal,
): Promise<GainMap | undefined> {
  const stop = signal ?? new AbortController().signal;
  const pool = new Piscina<CellTask, Cell>({
    filename: `${compiledFolder()}campaign/worker.js`,
    minThreads: workers,
    maxThreads: workers,
  });
  const cells: Cell[][] = y.values.map(() => []);
  const boxes = (row: number, column: number) => ({
    ...campaign.setup.box,
    [x.name]: x.values[column]!,
    [y.name]: y.values[row]!,
  });
  const places = y.values.flatMap((_, row) => x.values.map((__, column) => [row, column] as const));
  const { machine } = campaign.setup;
  refuseAllRefused(places.map(([row, column]) => firstRefusal({ box: boxes(row, column), machine })));
  let present: Cell = UNTRIED;
  let next = 0;
  let done = 0;
  const serve = async () => {
    while (next < places.length && !signal?.aborted) {
      const [row, column] = places[next++]!;
      const box = boxes(row, column);
      const task = { campaign: { ...campaign, setup: { ...campaign.setup, box } }, cell_cuts: cuts };
      cells[row]![column] = firstRefusal({ box, machine }) ? UNTRIED : await pool.run(task, { signal: stop });
      onCell(++done);
    }
  };
  try {
    await Promise.all(Array.from({ length: workers }, serve));
    if (!signal?.aborted) present = await pool.run({ campaign, cell_cuts: cuts }, { signal: stop });
  } catch (error) {
    // A cell under way is given up at once: it may take minutes.
    if (!signal?.aborted) throw error;
  } finally {
    await pool.destroy();
  }
  return signal?.aborted ? undefined : { x, y, cells, present };
}

function refuseAllRefused(found: readonly ReturnType<typeof firstRefusal>[]): void {
  if (found.includes(undefined)) return;
  throw new StandoffError('map-contradiction', `for every pair ${found[0]!.what}`, 'give other ranges for the axes');
}

/** Cells in which every requirement was kept in every cut, and the standoff was held nearly as well as anywhere. */
export function regionOf(map: GainMap): boolean[][] {
  const limit_mm = limitOf(map);
  return map.cells.map((row) => row.map((cell) => isGood(cell, limit_mm)));
}

/** Whether the setup as it is has what the cells of the region have. */
export const presentIsGood = (map: GainMap): boolean => isGood(map.present, limitOf(map));

const allKept = (cell: Cell) => cell.kept === cell.cuts && cell.following_p999_mm !== null;
const isGood = (cell: Cell, limit_mm: number) => allKept(cell) && cell.following_p999_mm! <= limit_mm;

function limitOf({ cells }: GainMap): number {
  const best_mm = Math.min(
    ...cells
      .flat()
      .filter(allKept)
      .map((cell) => cell.following_p999_mm!),
  );
  return MUCH_WORSE * best_mm;
}

/**
 * The cell of the region that lies farthest from its edge; among equals the one most in the middle of its row and column
 * (in a narrow region many lie at an edge), then the one with the smallest standoff error.
 */
export function centreOf(map: GainMap): MapCentre | undefined {
  const region = regionOf(map);
  const width = map.x.values.length;
  const height = map.y.values.length;
  const inside = (row: number, column: number) => region[row]?.[column] === true;
  /** Steps that the region reaches from here in a direction. */
  const reach = (row: number, column: number, down: number, right: number) => {
    let steps = 0;
    while (inside(row + down * (steps + 1), column + right * (steps + 1))) steps++;
    return steps;
  };
  let best: { row: number; column: number; score: number; middle: number; error: number } | undefined;
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) {
      if (!inside(row, column)) continue;
      const score = Math.min(
        ...[-1, 0, 1].flatMap((down) =>
          [-1, 0, 1].filter((right) => down !== 0 || right !== 0).map((right) => reach(row, column, down, right)),
        ),
      );
      const error = map.cells[row]![column]!.following_p999_mm ?? Number.POSITIVE_INFINITY;
      const side = (down: number, right: number) => reach(row, column, down, right);
      const middle = Math.min(side(0, -1), side(0, 1)) + Math.min(side(-1, 0), side(1, 0));
      const better = !best ? 1 : score - best.score || middle - best.middle || best.error - error;
      if (better > 0) best = { row, column, score, middle, error };
    }
  }
  if (!best) return undefined;
  const { row, column } = best;
  const edge = (axis: MapAxis, at: number, steps: number, sign: 1 | -1, last: number) => ({
    distance: Math.abs(axis.values[at + sign * steps]! - axis.values[at]!),
    open: at + sign * steps === last,
  });
  return {
    x: map.x.values[column]!,
    y: map.y.values[row]!,
    edges: {
      left: edge(map.x, column, reach(row, column, 0, -1), -1, 0),
      right: edge(map.x, column, reach(row, column, 0, 1), 1, width - 1),
      lower: edge(map.y, row, reach(row, column, -1, 0), -1, 0),
      upper: edge(map.y, row, reach(row, column, 1, 0), 1, height - 1),
    },
    cells: region.flat().filter(Boolean).length,
    cell: map.cells[row]![column]!,
  };
}
