import { StandoffError } from '../base/index.js';
import type { RequirementResult } from '../judge/index.js';
import { firstContradiction, likelyPaths, ROWS_BY_PATH, SECTION_ROWS } from '../run/setup/index.js';
import type { Campaign, CaseRunner } from './case-runner.js';
import { workerPool } from './pool.js';
import { rangesAround, valueAt } from './ranges.js';

/** The results of the cuts with one pair of values. */
export interface Cell {
  readonly cuts: number;
  /** Cuts that kept every requirement; and those that met the quality goals for following as well. */
  readonly kept: number;
  readonly goals_met: number;
  /** Smallest margin of the BOUNDS, or of any broken requirement in its unit, and whose it is. */
  readonly worst_margin: number | null;
  readonly worst_requirement: string;
  readonly worst_unit: string;
  /** Case with that margin. */
  readonly worst_case: number | null;
  /**
   * Standoff error not exceeded for 99.9 % of the following time, mm: median of the cuts; null: nothing was followed.
   */
  readonly following_p999_mm: number | null;
}

/**
 * Requirements whose margins are distances that differ from cut to cut; those of the others only allow for rounding.
 */
export const BOUNDS: readonly string[] = ['no-contact', 'floor', 'z-dive', 'z-travel'];

/** The cell of values that are refused, such as for a contradiction: nothing was cut. */
export const UNTRIED: Cell = {
  cuts: 0,
  kept: 0,
  goals_met: 0,
  worst_margin: null,
  worst_requirement: '',
  worst_unit: '',
  worst_case: null,
  following_p999_mm: null,
};

/**
 * Cuts the same cases in every cell, so that cells differ by their values alone (common random numbers). @param cuts
 * per cell
 */
export function runCell(runner: CaseRunner, cuts: number): Cell {
  let kept = 0;
  let goals_met = 0;
  let worst: { requirement: RequirementResult; index: number } | undefined;
  const errors: number[] = [];
  for (let index = 0; index < cuts; index++) {
    const verdict = runner.judge(index);
    const broken = verdict.requirements.filter((requirement) => !requirement.kept);
    if (broken.length === 0) kept++;
    if (broken.length === 0 && verdict.goals_met) goals_met++;
    if (verdict.following_p999_mm !== null) errors.push(verdict.following_p999_mm);
    for (const requirement of verdict.requirements) {
      if (requirement.margin === null || (requirement.kept && !BOUNDS.includes(requirement.name))) continue;
      if (worst === undefined || worse(requirement, worst.requirement)) worst = { requirement, index };
    }
  }
  return {
    cuts,
    kept,
    goals_met,
    worst_margin: worst?.requirement.margin ?? null,
    worst_requirement: worst?.requirement.name ?? '',
    worst_unit: worst?.requirement.unit ?? '',
    worst_case: worst?.index ?? null,
    following_p999_mm: median(errors),
  };
}

/** A broken requirement is worse than any that was kept. */
const worse = (one: RequirementResult, other: RequirementResult): boolean =>
  one.kept !== other.kept ? !one.kept : one.margin! < other.margin!;

function median(values: number[]): number | null {
  if (values.length === 0) return null;
  values.sort((a, b) => a - b);
  const middle = Math.floor(values.length / 2);
  return values.length % 2 === 1 ? values[middle] : (values[middle - 1] + values[middle]) / 2;
}

/** The first cases of a campaign as one cell of a map, for one thread. */
export interface CellTask {
  readonly campaign: Campaign;
  readonly cell_cuts: number;
}

/** One axis of a map: a parameter of the box, and the values to try. */
export interface MapAxis {
  readonly name: string;
  readonly unit: string;
  readonly values: readonly number[];
  /** The value in the setup. */
  readonly present: number;
  /** The limits of the box. */
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

/** In a cell of the region the standoff error is at most this many times that of the best cell. */
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

/** Values that can be typed: whole where the row says so, else with four digits, within the row, each once. */
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

/**
 * Cuts the same random cases in every cell.
 * @returns undefined when `signal` broke it off
 * @throws StandoffError `map-contradiction` when every pair is refused; what a worker throws
 */
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
  const pool = workerPool<CellTask, Cell>(workers);
  const cells: Cell[][] = y.values.map(() => []);
  const boxes = (row: number, column: number) => ({
    ...campaign.setup.box,
    [x.name]: x.values[column],
    [y.name]: y.values[row],
  });
  const places = y.values.flatMap((_, row) => x.values.map((__, column) => [row, column] as const));
  refuseAllRefused(places.map(([row, column]) => firstContradiction(boxes(row, column))));
  let present: Cell = UNTRIED;
  let next = 0;
  let done = 0;
  const serve = async () => {
    while (next < places.length && !signal?.aborted) {
      const [row, column] = places[next++];
      const box = boxes(row, column);
      const task = { campaign: { ...campaign, setup: { ...campaign.setup, box } }, cell_cuts: cuts };
      cells[row][column] = firstContradiction(box) ? UNTRIED : await pool.run(task, { signal: stop });
      onCell(++done);
    }
  };
  try {
    await Promise.all(Array.from({ length: workers }, serve));
    if (!signal?.aborted) present = await pool.run({ campaign, cell_cuts: cuts }, { signal: stop });
  } catch (error) {
    // A cell under way is dropped at once: it may take minutes.
    if (!signal?.aborted) throw error;
  } finally {
    await pool.destroy();
  }
  return signal?.aborted ? undefined : { x, y, cells, present };
}

function refuseAllRefused(found: readonly ReturnType<typeof firstContradiction>[]): void {
  if (found.includes(undefined)) return;
  throw new StandoffError('map-contradiction', `for every pair ${found[0]!.what}`, 'give other ranges for the axes');
}

/** Cells that kept every requirement in every cut, and held the standoff nearly as well as the best. */
export function regionOf(map: GainMap): boolean[][] {
  const limit_mm = limitOf(map);
  return map.cells.map((row) => row.map((cell) => isGood(cell, limit_mm)));
}

/** Whether the setup as it is does as well as the region. */
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
 * The cell of the region that lies farthest from its edge; among equals the one most in the middle of its row and
 * column (in a narrow region many lie at an edge), then the one with the smallest standoff error.
 */
export function centreOf(map: GainMap) {
  const region = regionOf(map);
  const { x, y } = map;
  /** Cells that the region reaches from here in a direction. */
  const reach = (row: number, column: number, down: number, right: number): number =>
    region[row + down]?.[column + right] === true ? 1 + reach(row + down, column + right, down, right) : 0;
  const sides = (row: number, column: number) => ({
    left: reach(row, column, 0, -1),
    right: reach(row, column, 0, 1),
    lower: reach(row, column, -1, 0),
    upper: reach(row, column, 1, 0),
  });
  let best: { row: number; column: number; score: number; middle: number; error: number } | undefined;
  for (const [row, columns] of region.entries()) {
    for (const [column, inside] of columns.entries()) {
      if (!inside) continue;
      const { left, right, lower, upper } = sides(row, column);
      const corners = [-1, 1].flatMap((down) => [-1, 1].map((across) => reach(row, column, down, across)));
      const score = Math.min(left, right, lower, upper, ...corners);
      const error = map.cells[row][column].following_p999_mm ?? Number.POSITIVE_INFINITY;
      const middle = Math.min(left, right) + Math.min(lower, upper);
      const better = !best ? 1 : score - best.score || middle - best.middle || best.error - error;
      if (better > 0) best = { row, column, score, middle, error };
    }
  }
  if (!best) return undefined;
  const { row, column } = best;
  const { left, right, lower, upper } = sides(row, column);
  /** How far the region reaches, in the axis's unit; `open`: to the edge of the map, so it may reach further. */
  const edge = ({ values }: MapAxis, at: number, end: number, last: number) => ({
    distance: Math.abs(values[end] - values[at]),
    open: end === last,
  });
  return {
    x: x.values[column],
    y: y.values[row],
    edges: {
      left: edge(x, column, column - left, 0),
      right: edge(x, column, column + right, x.values.length - 1),
      lower: edge(y, row, row - lower, 0),
      upper: edge(y, row, row + upper, y.values.length - 1),
    },
    /** Cells of the region, and the results in its centre. */
    cells: region.flat().filter(Boolean).length,
    cell: map.cells[row][column],
  };
}
/** Centre of the region that kept every requirement and held the standoff best, and its distance from each edge. */
export type MapCentre = NonNullable<ReturnType<typeof centreOf>>;

/** They shift the standoff as a whole, which no gain can mend; calibration and target can. */
const OFFSETS: readonly string[] = ['world.arc.voltage_at_cut_V', 'machine.divider.gain_error'];

/** What a map cuts: machines without faults or operators, because a cut that a fault stops says nothing about gains. */
export function mapCampaign({ setup, programs, seed }: Pick<Campaign, 'setup' | 'programs' | 'seed'>): Campaign {
  const around = rangesAround(setup);
  const numbers = around.numbers.filter(({ path }) => !OFFSETS.includes(path));
  const ranges = { ...around, numbers, fault_chance: 0, second_fault_chance: 0, operator_chance: 0 };
  return { setup, ranges, programs, seed };
}

/** The cell with the least margin, one with a broken requirement before all others; undefined: nothing was cut. */
export const worstCell = ({ cells }: GainMap): Cell | undefined =>
  cells
    .flat()
    .filter((cell) => cell.worst_margin !== null)
    .sort((a, b) => Number(a.kept === a.cuts) - Number(b.kept === b.cuts) || a.worst_margin! - b.worst_margin!)[0];

/**
 * A range with more room where the region reaches the end of an axis.
 * @param down the region is open at the low end @param up at the high end
 * @returns undefined where the box takes no more
 */
export function widerRange({ values, least, most }: MapAxis, down: boolean, up: boolean): [number, number] | undefined {
  const low = values[0];
  const high = values.at(-1)!;
  const span = high - low;
  const new_low = down ? Math.max(least, low > 0 ? low / 3 : low - span) : low;
  const new_high = up ? Math.min(most, high + span) : high;
  if (new_low === low && new_high === high) return undefined;
  return [Number(new_low.toPrecision(3)), Number(new_high.toPrecision(3))];
}
