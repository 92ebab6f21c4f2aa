/** What a program comes to, from its plan alone: nothing is simulated. */
import type { DutyReport } from '../../electrical/index.js';
import { dutyReport } from '../../electrical/index.js';
import { BlockKind, type Bounds, isMove, type Plan, type PlanColumns, stepBounds } from '../../world/motion/index.js';
import type { Setup } from '../setup/index.js';

/** A path that comes back to a point where it was before. */
interface Loop {
  readonly line: number;
  /** The smaller side of the rectangle around it, along X and Y. */
  readonly across_mm: number;
  readonly bounds: Bounds;
}

/** What was understood of a program, with what the setup says of its sheet and supply. */
export interface Understood {
  readonly lines: number;
  readonly contours: number;
  readonly cut_length_mm: number;
  readonly rapid_length_mm: number;
  /** Of the moves with the torch on; 0 when there is none. */
  readonly slowest_mm_s: number;
  readonly fastest_mm_s: number;
  readonly bounds: Bounds;
  /** The smallest path that closes on itself; absent where none does. */
  readonly smallest: Omit<Loop, 'bounds'> | undefined;
  /** Rapids over the rectangle of an earlier closed contour, but the one that was cut last; and the first of them. */
  readonly rapids_over_parts: { readonly count: number; readonly line: number; readonly part_line: number };
  /** Contours that begin at the edge of the sheet or beyond it. */
  readonly edge_starts: number;
  /** Motion and dwells, and with touch-off and pierce for each contour. */
  readonly motion_s: number;
  readonly time_s: number;
  readonly duty: DutyReport;
}

/** Touch-off, strike and retract of one start, besides the times that the setup gives. Assumption. */
const START_S = 3;
/** A start nearer to the edge than this finds no sheet under half of the arc. Assumption. */
export const EDGE_MM = 2;
const MS_PER_S = 1000;

/** @param plan cuts something */
export function understand(plan: Plan, lines: number, setup: Setup): Understood {
  const { steps } = plan;
  const loops = loopsOf(steps);
  const start_s = START_S + startTime_ms(setup) / MS_PER_S;
  const smallest = loops.reduce<Loop | undefined>(
    (best, loop) => (best === undefined || loop.across_mm < best.across_mm ? loop : best),
    undefined,
  );
  const time_s = plan.duration_s + plan.contours.length * start_s;
  return {
    lines,
    contours: plan.contours.length,
    cut_length_mm: plan.cut_length_mm,
    ...movesOf(steps),
    bounds: plan.cut_bounds as Bounds,
    smallest: smallest && { line: smallest.line, across_mm: smallest.across_mm },
    rapids_over_parts: rapidsOver(steps, loops),
    edge_starts: edgeStarts(steps, setup),
    motion_s: plan.duration_s,
    time_s,
    duty: dutyReport(arcsOf(steps, start_s, setup.box.pierce_ms / MS_PER_S), time_s, setup.machine.supply),
  };
}

const startTime_ms = ({ box, world }: Setup): number =>
  world.arc.strike_delay_ms + box.arc_on_ms + box.pierce_ms + box.settle_ms;

function movesOf({ count, kind, torch, length_mm, programmed_mm_s }: PlanColumns) {
  let rapid_length_mm = 0;
  let slowest_mm_s = Number.POSITIVE_INFINITY;
  let fastest_mm_s = 0;
  for (let index = 0; index < count; index++) {
    if (kind[index] === BlockKind.rapid) rapid_length_mm += length_mm[index];
    else if (isMove(kind[index]) && torch[index] === 1) {
      slowest_mm_s = Math.min(slowest_mm_s, programmed_mm_s[index]);
      fastest_mm_s = Math.max(fastest_mm_s, programmed_mm_s[index]);
    }
  }
  return { rapid_length_mm, slowest_mm_s: Math.min(slowest_mm_s, fastest_mm_s), fastest_mm_s };
}

/** Points nearer than this in X and in Y are one: numbers of two decimals, and their sums. */
const NEAR_MM = 0.01;
/** More than twice that: of two places that far on either side of a point one lies in its own square. */
const SQUARE_MM = 0.025;
/** No program goes further than 100 m, which is less than 2^24 of these squares. */
const keyOf = (x_mm: number, y_mm: number): number =>
  Math.floor(x_mm / SQUARE_MM) * 2 ** 25 + Math.floor(y_mm / SQUARE_MM);

/** The move that began near a point: every point that near lies in the square of one of these four corners. */
function begunNear(passed: ReadonlyMap<number, number>, x_mm: number, y_mm: number): number | undefined {
  for (const x of [x_mm - NEAR_MM, x_mm + NEAR_MM])
    for (const y of [y_mm - NEAR_MM, y_mm + NEAR_MM]) {
      const index = passed.get(keyOf(x, y));
      if (index !== undefined) return index;
    }
  return undefined;
}

/** Every path with the torch on from a point back to it, full circles too; a crossing of two moves is not looked for. */
function loopsOf(steps: PlanColumns): Loop[] {
  const loops: Loop[] = [];
  let passed = new Map<number, number>();
  for (let index = 0; index < steps.count; index++) {
    if (steps.kind[index] === BlockKind.torchOn) passed = new Map();
    if (!isMove(steps.kind[index]) || steps.torch[index] === 0) continue;
    passed.set(keyOf(steps.start_x_mm[index], steps.start_y_mm[index]), index);
    const from = begunNear(passed, steps.end_x_mm[index], steps.end_y_mm[index]);
    if (from === undefined) continue;
    loops.push(loopOf(steps, from, index));
    // What was passed lies behind a closed path: from here on another one begins.
    passed = new Map();
  }
  return loops;
}

function loopOf(steps: PlanColumns, from: number, to: number): Loop {
  const bounds = stepBounds(steps, from, to);
  const { min_x_mm, min_y_mm, max_x_mm, max_y_mm } = bounds;
  return { line: steps.line[from], bounds, across_mm: Math.min(max_x_mm - min_x_mm, max_y_mm - min_y_mm) };
}

/** Side of the squares by which closed contours are found again. */
const TILE_MM = 25;

/** Rapids that pass over what was cut out before, and may stand tipped up. */
function rapidsOver(steps: PlanColumns, loops: readonly Loop[]): Understood['rapids_over_parts'] {
  const found = { count: 0, line: 0, part_line: 0 };
  const tiles = new Map<string, Loop[]>();
  let next = 0;
  for (let index = 0; index < steps.count; index++) {
    if (steps.kind[index] !== BlockKind.rapid) continue;
    // The last contour before the rapid is being left: only the ones before it count.
    while (next + 1 < loops.length && loops[next + 1].line < steps.line[index]) placeLoop(tiles, loops[next++]);
    const part = partUnder(tiles, steps, index);
    if (part === undefined) continue;
    if (found.count++ === 0) Object.assign(found, { line: steps.line[index], part_line: part.line });
  }
  return found;
}

function placeLoop(tiles: Map<string, Loop[]>, loop: Loop): void {
  const { min_x_mm, min_y_mm, max_x_mm, max_y_mm } = loop.bounds;
  for (let x = Math.floor(min_x_mm / TILE_MM); x <= max_x_mm / TILE_MM; x++)
    for (let y = Math.floor(min_y_mm / TILE_MM); y <= max_y_mm / TILE_MM; y++) {
      const key = `${x} ${y}`;
      const list = tiles.get(key);
      if (list) list.push(loop);
      else tiles.set(key, [loop]);
    }
}

/** Looked at every five millimetres along the move. */
const SAMPLE_MM = 5;

function partUnder(tiles: ReadonlyMap<string, readonly Loop[]>, steps: PlanColumns, index: number): Loop | undefined {
  const samples = Math.max(1, Math.ceil(steps.length_mm[index] / SAMPLE_MM));
  for (let sample = 1; sample < samples; sample++) {
    const share = sample / samples;
    const x_mm = steps.start_x_mm[index] + share * (steps.end_x_mm[index] - steps.start_x_mm[index]);
    const y_mm = steps.start_y_mm[index] + share * (steps.end_y_mm[index] - steps.start_y_mm[index]);
    const near = tiles.get(`${Math.floor(x_mm / TILE_MM)} ${Math.floor(y_mm / TILE_MM)}`) ?? [];
    const part = near.find(({ bounds }) => inside(bounds, x_mm, y_mm));
    if (part !== undefined) return part;
  }
  return undefined;
}

const inside = ({ min_x_mm, min_y_mm, max_x_mm, max_y_mm }: Bounds, x_mm: number, y_mm: number): boolean =>
  x_mm > min_x_mm && x_mm < max_x_mm && y_mm > min_y_mm && y_mm < max_y_mm;

function edgeStarts(steps: PlanColumns, { machine }: Setup): number {
  const { sheet_width_mm, sheet_height_mm } = machine.table;
  let starts = 0;
  for (let index = 0; index < steps.count; index++) {
    if (steps.kind[index] !== BlockKind.torchOn) continue;
    const x_mm = steps.start_x_mm[index];
    const y_mm = steps.start_y_mm[index];
    if (Math.min(x_mm, y_mm, sheet_width_mm - x_mm, sheet_height_mm - y_mm) < EDGE_MM) starts++;
  }
  return starts;
}

/** When the arc is expected to burn, with the time of each start before it. */
function arcsOf(steps: PlanColumns, start_s: number, pierce_s: number) {
  const arcs: { from_s: number; to_s: number; line: number }[] = [];
  let starts = 0;
  for (let index = 0; index < steps.count; index++) {
    if (steps.torch[index] === 0) continue;
    if (steps.kind[index] === BlockKind.torchOn) {
      starts++;
      const from_s = steps.start_s[index] + starts * start_s - pierce_s;
      arcs.push({ from_s, to_s: from_s + pierce_s, line: steps.line[index] });
    }
    arcs[arcs.length - 1].to_s += steps.duration_s[index];
  }
  return arcs;
}
