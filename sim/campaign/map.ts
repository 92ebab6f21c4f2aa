import { StandoffError } from '../base/index.js';
import type { RequirementResult } from '../judge/index.js';
import { firstContradiction, type SECTION_ROWS } from '../run/setup/index.js';
import { workerPool } from './campaign.js';
import type { Campaign, CaseRunner } from './case-runner.js';
import { boxParameter, isChosen, rangesAround } from './ranges.js';
import { BOUNDS } from './tally.js';

/** The results of the cuts with one pair of values. */
export interface Cell {
  readonly cuts: number;
  /** Cuts that kept every requirement; and those that finished and met the quality goals for following as well. */
  readonly kept: number;
  readonly goals_met: number;
  /** Cuts that box or clock stopped before their end; they met no goal. */
  readonly stopped: number;
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

/** The cell of values that are refused, such as for a contradiction: nothing was cut. */
export const UNTRIED: Cell = {
  cuts: 0,
  kept: 0,
  goals_met: 0,
  stopped: 0,
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
  let stopped = 0;
  let worst: { requirement: RequirementResult; index: number } | undefined;
  const errors: number[] = [];
  for (let index = 0; index < cuts; index++) {
    const verdict = runner.judge(index);
    const broken = verdict.requirements.filter((requirement) => !requirement.kept);
    if (broken.length === 0) kept++;
    if (verdict.stop !== null) stopped++;
    else if (broken.length === 0 && verdict.goals_met) goals_met++;
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
    stopped,
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
  /** The values lie at equal factors, not at equal distances. */
  readonly logarithmic: boolean;
}

/** What cuts came to over two parameters, each pair of values one cell. */
export interface GainMap {
  readonly x: MapAxis;
  readonly y: MapAxis;
  /** Rows from the least y to the greatest, cells from the least x. */
  readonly cells: readonly (readonly Cell[])[];
  /** Names of the programs that were cut, in turn. */
  readonly programs: readonly string[];
  /** The same cuts with the setup as it is. */
  readonly present: Cell;
}

/** In a cell of the region the standoff error is at most this many times that of the best cell. */
const MUCH_WORSE = 1.25;

/**
 * @param words `name`, or `name=low:high`; without a range from a third of the present value to three times it
 * @throws StandoffError `map-unknown`, `map-elsewhere`, `map-range`
 */
export function mapAxis(words: string, campaign: Campaign, steps: number): MapAxis {
  const { name, row, present, low, high } = boxParameter(words, campaign.setup, 'map', 3);
  // What multiplies is compared by its factor: gains by their logarithm, where 0 is not among them.
  const logarithmic = name.startsWith('gain_') && low > 0;
  const along = (share: number) => (logarithmic ? low * (high / low) ** share : low + (high - low) * share);
  const values = Array.from({ length: steps }, (_, at) => along(at / (steps - 1)));
  return { name, unit: row.unit, values: tried(values, row), present, least: row.min, most: row.max, logarithmic };
}

/** Values that can be typed: whole where the row says so, else with four digits, within the row, each once. */
function tried(values: readonly number[], { integer, min, max }: (typeof SECTION_ROWS.box)[number]): number[] {
  const typed = values.map((value) => (integer ? Math.round(value) : Number(value.toPrecision(4))));
  return [...new Set(typed.map((value) => Math.min(max, Math.max(min, value))))];
}

/**
 * Cuts the same random cases in every cell.
 * @returns undefined when `signal` broke it off
 * @throws StandoffError `map-contradiction` when every pair is refused; what a worker throws
 */
export async function runMap(
  given: Campaign,
  x: MapAxis,
  y: MapAxis,
  cuts: number,
  workers: number,
  onCell: (done: number) => void,
  signal?: AbortSignal,
): Promise<GainMap | undefined> {
  // What an axis says is not drawn: in no cell, so that all of them cut the same cases.
  const axes = [`box.${x.name}`, `box.${y.name}`];
  const numbers = given.ranges.numbers.filter(({ path }) => !axes.includes(path));
  const campaign = { ...given, ranges: { ...given.ranges, numbers } };
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
      cells[row][column] = firstContradiction(box) ? UNTRIED : await pool.run(task, stop);
      onCell(++done);
    }
  };
  try {
    await Promise.all(Array.from({ length: workers }, serve));
    if (!signal?.aborted) present = await pool.run({ campaign, cell_cuts: cuts }, stop);
  } catch (error) {
    // A cell under way is dropped at once: it may take minutes.
    if (!signal?.aborted) throw error;
  } finally {
    await pool.end();
  }
  return signal?.aborted ? undefined : { x, y, cells, programs: campaign.programs.map(({ name }) => name), present };
}

function refuseAllRefused(found: readonly ReturnType<typeof firstContradiction>[]): void {
  if (found.includes(undefined)) return;
  throw new StandoffError('map-contradiction', `for every pair ${found[0]!.what}`, 'give other ranges for the axes');
}

/** Share of the cuts of a cell that must meet the quality goals for following: then its middle cut meets them. */
const GOALS_SHARE = 0.5;

/** Whether a pair of values keeps what it should: every requirement in every cut, and the goals in half of them at least. */
const keepsGoals = (cell: Cell): boolean =>
  cell.cuts > 0 && cell.kept === cell.cuts && cell.goals_met >= GOALS_SHARE * cell.cuts;

/** Cells that keep requirements and goals, and held the standoff nearly as well as the best of them. */
export function regionOf(map: GainMap): boolean[][] {
  const limit_mm = limitOf(map);
  return map.cells.map((row) => row.map((cell) => isGood(cell, limit_mm)));
}

/** Whether the setup as it is does as well as the region. */
export const presentIsGood = (map: GainMap): boolean => isGood(map.present, limitOf(map));

const isGood = (cell: Cell, limit_mm: number) => keepsGoals(cell) && (cell.following_p999_mm ?? Infinity) <= limit_mm;

function limitOf({ cells }: GainMap): number {
  const errors = cells.flat().filter(keepsGoals);
  return MUCH_WORSE * Math.min(...errors.map((cell) => cell.following_p999_mm ?? Infinity));
}

/**
 * The cell of the region that lies farthest from its edge; among equals the one most in the middle of its row and
 * column (in a narrow region many lie at an edge), then the one with the smallest standoff error. Never a cell at an edge
 * of the map: what lies beyond it was not tried.
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
      if (!inside || atEdge(row, y) || atEdge(column, x)) continue;
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

const atEdge = (at: number, { values }: MapAxis): boolean => at === 0 || at === values.length - 1;

/** Centre of the region that kept every requirement and held the standoff best, and its distance from each edge. */
export type MapCentre = NonNullable<ReturnType<typeof centreOf>>;

/** They shift the standoff as a whole, which no gain can mend; calibration and target can. */
const OFFSETS: readonly string[] = ['world.arc.voltage_at_cut_V', 'machine.divider.gain_error'];

/**
 * What a map cuts: machines without faults or operators, because a cut that a fault stops says nothing about gains; and of the
 * box only what follows from the world is drawn.
 */
export function mapCampaign({ setup, programs, seed }: Pick<Campaign, 'setup' | 'programs' | 'seed'>): Campaign {
  const around = rangesAround(setup);
  const numbers = around.numbers.filter((range) => !OFFSETS.includes(range.path) && !isChosen(range));
  const ranges = { ...around, numbers, fault_chance: 0, second_fault_chance: 0, operator_chance: 0, box_chance: 0 };
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
export function widerRange(axis: MapAxis, down: boolean, up: boolean): [number, number] | undefined {
  const { values, least, most, logarithmic } = axis;
  const low = values[0];
  const high = values.at(-1)!;
  const span = high - low;
  const new_low = down ? Math.max(least, low > 0 ? low / 3 : low - span) : low;
  const new_high = up ? Math.min(most, logarithmic ? 3 * high : high + span) : high;
  if (new_low === low && new_high === high) return undefined;
  return [Number(new_low.toPrecision(3)), Number(new_high.toPrecision(3))];
}
