// The step of a plan that is under way: place and direction by distance from its start, speed by time. Only additions,
// multiplications and a Taylor series, so every engine gives the same bits.
import { move, STEP_BYTES, Step, table } from './cells.gen';
import { ARC_COUNTER_CLOCKWISE } from './codes';

export function isMove(kind: i32): bool {
  return kind <= ARC_COUNTER_CLOCKWISE;
}

/** Takes up a step of the plan; what belongs to moves stays as it was when it is none. */
export function enterStep(index: i32): void {
  const step = changetype<Step>(<usize>table.steps_at + <usize>index * <usize>STEP_BYTES);
  move.index = index;
  move.kind = step.kind;
  move.start_s = step.start_s;
  move.duration_s = step.duration_s;
  move.travelled_mm = 0;
  table.step_s = 0;
  table.line = step.line;
  if (!isMove(step.kind)) return;
  move.programmed_mm_s = step.programmed_mm_s;
  move.length_mm = step.length_mm;
  move.start_path_mm = step.start_path_mm;
  move.entry_mm_s = step.entry_mm_s;
  move.peak_mm_s = step.peak_mm_s;
  move.exit_mm_s = step.exit_mm_s;
  move.accelerate_s = step.accelerate_s;
  move.cruise_end_s = step.accelerate_s + step.cruise_s;
  move.accelerate_mm = (step.entry_mm_s + step.peak_mm_s) * 0.5 * step.accelerate_s;
  move.start_x_mm = step.start_x_mm;
  move.start_y_mm = step.start_y_mm;
  move.start_dx = step.start_dx;
  move.start_dy = step.start_dy;
  move.dx = step.start_dx;
  move.dy = step.start_dy;
  const sweep_rad = step.sweep_rad;
  move.turn = sweep_rad == 0 ? 0 : sweep_rad > 0 ? 1 : -1;
  if (move.turn == 0) return;
  move.centre_x_mm = step.centre_x_mm;
  move.centre_y_mm = step.centre_y_mm;
  move.radius_mm = step.radius_mm;
  move.radius_change = step.radius_change_mm / move.length_mm;
  move.sweep_rad_per_mm = sweep_rad / move.length_mm;
}

/** Speed and place at a time in the move; while braking counted from its end, so that it ends on the spot. */
export function follow(time_s: f64): void {
  if (time_s < move.accelerate_s) {
    move.speed_mm_s = move.entry_mm_s + table.acceleration_mm_s2 * time_s;
    placeAt((move.entry_mm_s + move.speed_mm_s) * 0.5 * time_s);
  } else if (time_s < move.cruise_end_s) {
    move.speed_mm_s = move.peak_mm_s;
    placeAt(move.accelerate_mm + move.peak_mm_s * (time_s - move.accelerate_s));
  } else {
    const rest_s = move.duration_s - time_s;
    move.speed_mm_s = move.exit_mm_s + table.braking_mm_s2 * rest_s;
    placeAt(move.length_mm - (move.exit_mm_s + move.speed_mm_s) * 0.5 * rest_s);
  }
}

/** Place and direction at a distance from the start of the move. */
export function placeAt(travelled_mm: f64): void {
  move.travelled_mm = travelled_mm;
  if (move.turn == 0) {
    move.x_mm = move.start_x_mm + move.start_dx * travelled_mm;
    move.y_mm = move.start_y_mm + move.start_dy * travelled_mm;
    return;
  }
  rotate(move.sweep_rad_per_mm * travelled_mm);
  move.dx = move.start_dx * move.cosine - move.start_dy * move.sine;
  move.dy = move.start_dx * move.sine + move.start_dy * move.cosine;
  // The radius stands a quarter turn behind the direction of travel.
  const radius_mm = (move.radius_mm + move.radius_change * travelled_mm) * move.turn;
  move.x_mm = move.centre_x_mm + radius_mm * move.dy;
  move.y_mm = move.centre_y_mm - radius_mm * move.dx;
}

const QUARTER_TURN_RAD: f64 = Math.PI / 2.0;
/** Taylor coefficients, 1/n!. */
const C2: f64 = 1.0 / 2.0;
const S3: f64 = 1.0 / 6.0;
const C4: f64 = 1.0 / 24.0;
const S5: f64 = 1.0 / 120.0;
const C6: f64 = 1.0 / 720.0;
const S7: f64 = 1.0 / 5040.0;
const C8: f64 = 1.0 / 40320.0;
const S9: f64 = 1.0 / 362880.0;
const C10: f64 = 1.0 / 3628800.0;
const S11: f64 = 1.0 / 39916800.0;
const C12: f64 = 1.0 / 479001600.0;
const S13: f64 = 1.0 / 6227020800.0;
const C14: f64 = 1.0 / 87178291200.0;
const S15: f64 = 1.0 / 1307674368000.0;
const C16: f64 = 1.0 / 20922789888000.0;

/** Cosine and sine of an angle of a few turns, as the host's Rotation: reduced by quarter turns, then a Taylor series. */
function rotate(angle_rad: f64): void {
  const quarters = floor<f64>(angle_rad / QUARTER_TURN_RAD + 0.5);
  const x = angle_rad - quarters * QUARTER_TURN_RAD;
  const q = x * x;
  const sine = x * (1.0 - q * (S3 - q * (S5 - q * (S7 - q * (S9 - q * (S11 - q * (S13 - q * S15)))))));
  const cosine = 1.0 - q * (C2 - q * (C4 - q * (C6 - q * (C8 - q * (C10 - q * (C12 - q * (C14 - q * C16)))))));
  switch (<i32>quarters & 3) {
    case 0:
      move.cosine = cosine;
      move.sine = sine;
      break;
    case 1:
      move.cosine = -sine;
      move.sine = cosine;
      break;
    case 2:
      move.cosine = -cosine;
      move.sine = -sine;
      break;
    default:
      move.cosine = sine;
      move.sine = -cosine;
  }
}
