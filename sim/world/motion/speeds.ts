import { BlockKind } from './program.js';
import { isArc, isMove, type PlanColumns } from './steps.js';

// The kinematics of a plan, apart from its bookkeeping in plan.ts: pure arithmetic, tested by itself.

/**
 * Greatest speed on a piece of path: √((2abD + b·v₀² + a·v₁²)/(a + b)) with acceleration a, braking b, length D
 * and the speeds v₀ and v₁ at its ends (elementary mechanics; from rest to rest √(2abD/(a + b))).
 */
export function peakSpeed_mm_s(
  entry_mm_s: number,
  exit_mm_s: number,
  acceleration_mm_s2: number,
  braking_mm_s2: number,
  length_mm: number,
): number {
  const squares =
    2 * acceleration_mm_s2 * braking_mm_s2 * length_mm +
    braking_mm_s2 * entry_mm_s * entry_mm_s +
    acceleration_mm_s2 * exit_mm_s * exit_mm_s;
  return Math.sqrt(squares / (acceleration_mm_s2 + braking_mm_s2));
}

/** Greatest speed at the far end of a piece of path that is entered with `speed_mm_s`: √(v² + 2aD). */
export function reachableSpeed_mm_s(speed_mm_s: number, acceleration_mm_s2: number, length_mm: number): number {
  return Math.sqrt(speed_mm_s * speed_mm_s + 2 * acceleration_mm_s2 * length_mm);
}

/** Greatest speed on a circle whose acceleration towards the centre is limited: √(a·r). */
export function circleSpeed_mm_s(acceleration_mm_s2: number, radius_mm: number): number {
  return Math.sqrt(acceleration_mm_s2 * radius_mm);
}

/**
 * The fastest profile over a straight or curved piece of path: speed up, keep the speed, slow down. The end speeds must be reachable from each other within the
 * length and not above the limit; all quantities ≥ 0, the accelerations and the length > 0.
 */
export function trapezoid(
  entry_mm_s: number,
  exit_mm_s: number,
  limit_mm_s: number,
  acceleration_mm_s2: number,
  braking_mm_s2: number,
  length_mm: number,
) {
  const triangle_mm_s = peakSpeed_mm_s(entry_mm_s, exit_mm_s, acceleration_mm_s2, braking_mm_s2, length_mm);
  const peak_mm_s = Math.max(entry_mm_s, exit_mm_s, Math.min(limit_mm_s, triangle_mm_s));
  const accelerate_s = (peak_mm_s - entry_mm_s) / acceleration_mm_s2;
  const brake_s = (peak_mm_s - exit_mm_s) / braking_mm_s2;
  const sloped_mm = ((entry_mm_s + peak_mm_s) * accelerate_s + (peak_mm_s + exit_mm_s) * brake_s) / 2;
  // Rounding can leave a trace of either sign where the profile is a triangle.
  return { peak_mm_s, accelerate_s, cruise_s: Math.max(0, length_mm - sloped_mm) / peak_mm_s, brake_s };
}

/** What the table can do; all values above 0. */
export interface MotionLimits {
  /** Acceleration along the path, and towards the centre of a curve. */
  readonly acceleration_mm_s2: number;
  /** Braking along the path, planned or not. */
  readonly braking_mm_s2: number;
  /** Speed of G0; no feed goes faster. */
  readonly rapid_mm_s: number;
  /**
   * Greatest step of the velocity vector at a corner: a corner that turns by φ is passed at up to
   * step/(2·sin(φ/2)). Common practice, no source; a table that gives way a little stands it.
   */
  readonly corner_velocity_step_mm_s: number;
  /** Greatest speed through an M5 between two cutting moves; without it, or at 0, the table stops there. */
  readonly torch_off_mm_s?: number;
}

/**
 * Fills in speeds and times. Moves form chains that start and end at rest: a chain ends at a torch word (but for an M5 that the
 * table goes through), a dwell, the end and where rapid motion meets cutting motion. Within a chain the speed at each joint is the
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
    const next = neighbour(steps, index, 1, limits);
    exit_mm_s[index] = next < 0 ? 0 : entry_mm_s[next];
    const before = neighbour(steps, index, -1, limits);
    const joint_mm_s = before < 0 ? 0 : joint(steps, limit_mm_s, before, index, limits);
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
      const next = neighbour(steps, index, 1, limits);
      if (next >= 0) entry_mm_s[next] = exit_mm_s[index];
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
function joint(
  steps: PlanColumns,
  limit_mm_s: Float64Array,
  before: number,
  index: number,
  limits: MotionLimits,
): number {
  const x = steps.start_dx[index] - steps.end_dx[before];
  const y = steps.start_dy[index] - steps.end_dy[before];
  const change = Math.sqrt(x * x + y * y);
  const through_mm_s = index - before > 1 ? limits.torch_off_mm_s! : Infinity;
  const neighbours_mm_s = Math.min(limit_mm_s[before], limit_mm_s[index], through_mm_s);
  if (change < NO_TURN) return neighbours_mm_s;
  const mean_length_mm = (steps.length_mm[before] + steps.length_mm[index]) / 2;
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

/** The next move of the same chain, or the one before (`way` -1); -1: the chain ends here. */
function neighbour({ kind, count }: PlanColumns, index: number, way: 1 | -1, limits: MotionLimits): number {
  const beside = index + way;
  const through =
    (limits.torch_off_mm_s ?? 0) > 0 && kind[beside] === BlockKind.torchOff && kind[index] !== BlockKind.rapid;
  const other = through ? beside + way : beside;
  return other >= 0 && other < count && sameChain(kind[index], kind[other]) ? other : -1;
}

function sameChain(kind: number, next: number): boolean {
  return isMove(next) && isMove(kind) && (kind === BlockKind.rapid) === (next === BlockKind.rapid);
}

/** Change of the unit direction that is rounding, no turn. */
const NO_TURN = 1e-9;
