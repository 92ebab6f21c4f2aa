/** A job is what someone wants cut: a program and a setup, read, planned and checked before anything runs. */
import { placeText, StandoffError } from '../../base/index.js';
import { tapOf } from '../../electrical/index.js';
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
  /** What is worth knowing but no reason to refuse; one sentence each. */
  readonly warnings: readonly string[];
}

/**
 * Parses and plans the program of a scenario and checks it against the sheet.
 * @throws StandoffError `program-…` with file, line and column for whatever is wrong with the program
 */
export function jobOf(scenario: Scenario): Job {
  const { program, setup } = scenario;
  const parsed = parseProgram(program.text, program.name);
  const plan = planProgram(parsed, motionLimits(setup.machine));
  refuseOffSheet(plan, setup.machine);
  return {
    scenario,
    plan,
    warnings: [...noteTexts(parsed), ...setupWarnings(setup), ...partsWarnings(setup.machine)],
  };
}

/** The ratio and the time constant may be rounded to three digits and still agree with the parts; assumption. */
const ROUNDED = 0.005;

/** Where the machine section's ratio and time constant are not what its resistors and its capacitor make. */
export function partsWarnings(machine: MachineConfig): string[] {
  const made = tapOf(machine);
  return (['ratio', 'rc_ms'] as const)
    .filter((name) => Math.abs(machine.divider[name] / made[name] - 1) > ROUNDED)
    .map((name) => {
      const value = Number(made[name].toPrecision(4));
      return `machine.divider.${name} is ${machine.divider[name]}, but its parts make it ${value}`;
    });
}
