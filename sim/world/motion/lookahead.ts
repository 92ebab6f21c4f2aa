import { isArc, isMove, type PlanColumns } from './columns.js';
import { circleSpeed_mm_s, reachableSpeed_mm_s, trapezoid } from './profile.js';
import { BlockKind } from './program.js';

/** What the table can do; all values above 0. */
export interface MotionLimits {
  /** Acceleration along the path, and towards the centre of a curve. */
  readonly acceleration_mm_s2: number;
  /** Braking along the path, planned or not. */
  readonly braking_mm_s2: number;
  /** Speed of G0; no feed is driven faster. */
  readonly rapid_mm_s: number;
  /**
   * Greatest step of the velocity vector at a corner: a corner that turns by φ is passed at up to
   * step/(2·sin(φ/2)). Common practice, no source; a table that gives way a little stands it.
   */
  readonly corner_velocity_step_mm_s: number;
}

/**
 * Fills in speeds and times. Moves form chains that start and end at rest: a chain ends at a torch word, a dwell,
 * the end and where rapid motion meets cutting motion. Within a chain the speed at each joint is the
 * greatest from which a pass backwards (braking) and one forwards (acceleration) can both be kept.
 * Common practice in motion control.
 */
export function planSpeeds(steps: PlanColumns, limits: MotionLimits): void {
  const { count, kind, length_mm, entry_mm_s, exit_mm_s } = steps;
  const limit_mm_s = new Float64Array(count);
  for (let index = 0; index < count; index++)
    if (isMove(kind[index])) limit_mm_s[index] = speedLimit(steps, index, limits);

  for (let index = count - 1; index >= 0; index--) {
    if (!isMove(kind[index])) continue;
    const chained = index + 1 < count && sameChain(kind[index], kind[index + 1]);
    exit_mm_s[index] = chained ? entry_mm_s[index + 1] : 0;
    const joint_mm_s =
      index > 0 && sameChain(kind[index - 1], kind[index]) ? joint(steps, limit_mm_s, index, limits) : 0;
    entry_mm_s[index] = Math.min(
      joint_mm_s,
      reachableSpeed_mm_s(exit_mm_s[index], limits.braking_mm_s2, length_mm[index]),
    );
  }

  let time_s = 0;
  let path_mm = 0;
  for (let index = 0; index < count; index++) {
    if (isMove(kind[index])) {
      const reachable_mm_s = reachableSpeed_mm_s(entry_mm_s[index], limits.acceleration_mm_s2, length_mm[index]);
      exit_mm_s[index] = Math.min(exit_mm_s[index], reachable_mm_s);
      if (exit_mm_s[index] > 0) entry_mm_s[index + 1] = exit_mm_s[index];
      fillProfile(steps, index, limit_mm_s[index], limits);
    }
    steps.start_s[index] = time_s;
    steps.start_path_mm[index] = path_mm;
    time_s += steps.duration_s[index];
    if (steps.torch[index] === 1) path_mm += length_mm[index];
  }
}

function speedLimit(steps: PlanColumns, index: number, limits: MotionLimits): number {
  let limit_mm_s = Math.min(steps.programmed_mm_s[index], limits.rapid_mm_s);
  if (isArc(steps.kind[index])) {
    const radius_mm = steps.radius_mm[index] + Math.min(0, steps.radius_change_mm[index]);
    limit_mm_s = Math.min(limit_mm_s, circleSpeed_mm_s(limits.acceleration_mm_s2, radius_mm));
  }
  return limit_mm_s;
}

/**
 * Speed limit at the joint before a move. Besides the step of velocity a joint of two short pieces is taken
 * for a curve drawn in chords: the turn is spread over half of either piece, v²·|Δdirection|/length ≤ a, which
 * for a circle of radius r is √(a·r) again.
 */
function joint(steps: PlanColumns, limit_mm_s: Float64Array, index: number, limits: MotionLimits): number {
  const x = steps.start_dx[index] - steps.end_dx[index - 1];
  const y = steps.start_dy[index] - steps.end_dy[index - 1];
  const change = Math.sqrt(x * x + y * y);
  const neighbours_mm_s = Math.min(limit_mm_s[index - 1], limit_mm_s[index]);
  if (change < NO_TURN) return neighbours_mm_s;
  const mean_length_mm = (steps.length_mm[index - 1] + steps.length_mm[index]) / 2;
  const curve_mm_s = circleSpeed_mm_s(limits.acceleration_mm_s2, mean_length_mm / change);
  return Math.min(neighbours_mm_s, curve_mm_s, limits.corner_velocity_step_mm_s / change);
}

function fillProfile(steps: PlanColumns, index: number, limit_mm_s: number, limits: MotionLimits): void {
  const profile = trapezoid(
    steps.entry_mm_s[index],
    steps.exit_mm_s[index],
    limit_mm_s,
    limits.acceleration_mm_s2,
    limits.braking_mm_s2,
    steps.length_mm[index],
  );
  steps.peak_mm_s[index] = profile.peak_mm_s;
  steps.accelerate_s[index] = profile.accelerate_s;
  steps.cruise_s[index] = profile.cruise_s;
  steps.duration_s[index] = profile.accelerate_s + profile.cruise_s + profile.brake_s;
}

function sameChain(kind: number, next: number): boolean {
  return isMove(next) && isMove(kind) && (kind === BlockKind.rapid) === (next === BlockKind.rapid);
}

/** Change of the unit direction that is rounding, no turn. */
const NO_TURN = 1e-9;
