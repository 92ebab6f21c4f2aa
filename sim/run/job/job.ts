/** A job is what someone wants cut: a program and a setup, read, planned and checked before anything runs. */
import { placeText, StandoffError } from '../../base/index.js';
import {
  angleOf,
  BlockKind,
  type Bounds,
  FULL_TURN_RAD,
  isArc,
  isMove,
  noteTexts,
  type Plan,
  type PlanColumns,
  parseProgram,
  planProgram,
} from '../../world/motion/index.js';
import type { MachineConfig } from '../../world/plant/index.js';
import { motionLimits } from '../loop/index.js';
import { type Scenario, setupWarnings } from '../setup/index.js';
import { partsWarnings } from './parts.js';
import { feedDangers } from './together.js';

/** One edge of the sheet: the direction that leads out over it and how far it lies from the origin. */
interface Edge {
  readonly name: string;
  readonly axis: 'X' | 'Y';
  readonly dx: number;
  readonly dy: number;
  readonly at_mm: number;
}

/**
 * Refuses a program that cuts beyond the sheet by more than the run-off that the table allows: a cut that is
 * meant to end beyond the edge runs off it by a few millimetres.
 * @throws StandoffError `program-off-sheet` with the line that leaves the sheet furthest, and by how much
 */
export function refuseOffSheet(plan: Plan, { table }: MachineConfig): void {
  if (plan.cut_bounds === undefined) return;
  const { sheet_width_mm, sheet_height_mm, run_off_mm } = table;
  const edges: readonly Edge[] = [
    { name: 'left', axis: 'X', dx: -1, dy: 0, at_mm: 0 },
    { name: 'right', axis: 'X', dx: 1, dy: 0, at_mm: sheet_width_mm },
    { name: 'lower', axis: 'Y', dx: 0, dy: -1, at_mm: 0 },
    { name: 'upper', axis: 'Y', dx: 0, dy: 1, at_mm: sheet_height_mm },
  ];
  const beyond = (edge: Edge) => reachOfBox(plan.cut_bounds!, edge) - edge.at_mm;
  const worst = edges.reduce((most, edge) => (beyond(edge) > beyond(most) ? edge : most));
  if (beyond(worst) <= run_off_mm) return;
  const { line, reach_mm } = furthestStep(plan.steps, worst);
  const at_mm = (worst.dx + worst.dy) * reach_mm;
  const place = placeText({ file: plan.file, line, column: 1 });
  throw new StandoffError(
    'program-off-sheet',
    `${place}: the cut reaches ${worst.axis}${tidy(at_mm)}, ${tidy(beyond(worst))} mm beyond the ${worst.name} edge of the ` +
      `sheet of ${sheet_width_mm} × ${sheet_height_mm} mm; ${run_off_mm} mm of run-off are allowed`,
    'move the program or its origin, or set sheet_width_mm, sheet_height_mm or run_off_mm in machine.table',
  );
}

const reachOfBox = (box: Bounds, { dx, dy }: Edge): number =>
  Math.max(dx * box.min_x_mm, dx * box.max_x_mm) + Math.max(dy * box.min_y_mm, dy * box.max_y_mm);

/** The step with the torch on that goes furthest in a direction, and how far. */
function furthestStep(steps: PlanColumns, edge: Edge): { readonly line: number; readonly reach_mm: number } {
  let line = 0;
  let reach_mm = Number.NEGATIVE_INFINITY;
  for (let index = 0; index < steps.count; index++) {
    if (steps.torch[index] === 0 || !isMove(steps.kind[index])) continue;
    const reach = stepReach(steps, index, edge);
    if (reach <= reach_mm) continue;
    reach_mm = reach;
    line = steps.line[index];
  }
  return { line, reach_mm };
}

function stepReach(steps: PlanColumns, index: number, { dx, dy }: Edge): number {
  const start = dx * steps.start_x_mm[index] + dy * steps.start_y_mm[index];
  const end = dx * steps.end_x_mm[index] + dy * steps.end_y_mm[index];
  const ends = Math.max(start, end);
  if (!isArc(steps.kind[index])) return ends;
  const turn = steps.kind[index] === BlockKind.arcCounterClockwise ? 1 : -1;
  // From the centre to the start: the direction of travel, turned back by a quarter.
  const start_x = turn * steps.start_dy[index];
  const start_y = -turn * steps.start_dx[index];
  const angle_rad = angleOf(start_x * dx + start_y * dy, turn * (start_x * dy - start_y * dx));
  const share = (angle_rad < 0 ? angle_rad + FULL_TURN_RAD : angle_rad) / Math.abs(steps.sweep_rad[index]);
  if (share > 1) return ends;
  const radius_mm = steps.radius_mm[index] + share * steps.radius_change_mm[index];
  return Math.max(ends, dx * steps.centre_x_mm[index] + dy * steps.centre_y_mm[index] + radius_mm);
}

const tidy = (value: number): string => String(Number(value.toFixed(3)));

/** Everything that a run needs, read and checked. */
export interface Job {
  /** What decides the result; stored, it repeats the run. */
  readonly scenario: Scenario;
  readonly plan: Plan;
  /** Lines of the program's text. */
  readonly line_count: number;
  /** What is dangerous or senseless about the program, and simulated all the same; one sentence each. */
  readonly dangers: readonly string[];
  /** What was read and does not act on the cut; one sentence each. */
  readonly notes: readonly string[];
  /** What is worth knowing but no reason to refuse: the notes, and where the setup disagrees with itself. */
  readonly warnings: readonly string[];
}

/** @throws StandoffError `program-cuts-nothing` */
function refuseIdle({ file, cut_length_mm, contours }: Plan): void {
  if (cut_length_mm > 0) return;
  const torch =
    contours.length === 0 ? 'no M3 requests the torch' : 'the torch is requested, but nothing moves at feed';
  const remedy = 'a cut is M3, moves by G1, G2 or G3, and M5; write the program again with the torch in it';
  throw new StandoffError('program-cuts-nothing', `${file}: the program cuts nothing: ${torch}`, remedy);
}

/**
 * Parses and plans the program of a scenario and checks it against the sheet.
 * @throws StandoffError `program-…` with file, line and column for whatever is wrong with the program
 */
export function jobOf(scenario: Scenario): Job {
  const { program, setup } = scenario;
  const parsed = parseProgram(program.text, program.name, setup.machine.origins);
  const plan = planProgram(parsed, motionLimits(setup.machine));
  refuseIdle(plan);
  refuseOffSheet(plan, setup.machine);
  const notes = noteTexts(parsed);
  return {
    scenario,
    plan,
    line_count: parsed.line_count,
    dangers: [...noteTexts(parsed, 'warning'), ...feedDangers(plan, setup)],
    notes,
    warnings: [...notes, ...setupWarnings(setup), ...partsWarnings(setup.machine)],
  };
}
