import { StandoffError } from '../../base/index.js';
import { angleOf, DEGREES_PER_RAD, FULL_TURN_RAD } from './geometry.js';
import { BlockKind, type Program } from './program.js';
import { type MotionLimits, planSpeeds } from './speeds.js';
import { isArc, isMove, layOut, type PlanColumns } from './steps.js';

/** A rectangle with its sides along X and Y. */
export interface Bounds {
  readonly min_x_mm: number;
  readonly min_y_mm: number;
  readonly max_x_mm: number;
  readonly max_y_mm: number;
}

/** Turns sharper than `CORNER_DEGREES` between moves with the torch requested, in the order of the path. */
export interface Corners {
  /** Path with the torch requested, from the start of the program. */
  readonly path_mm: Float64Array;
  readonly x_mm: Float64Array;
  readonly y_mm: Float64Array;
  /** 0…180. */
  readonly turn_degrees: Float64Array;
  readonly contour: Int32Array;
}

/** A turn up to this is taken for part of a curve. Assumption. */
export const CORNER_DEGREES = 30;

/** What the steps amount to, besides their times. */
interface Survey {
  /** All moves; undefined when nothing moves. */
  readonly bounds: Bounds | undefined;
  /** Moves with the torch requested; undefined when nothing is cut. */
  readonly cut_bounds: Bounds | undefined;
  /** What is cut between a torch request and its withdrawal; `first_line` is that of the M3. */
  readonly contours: readonly { readonly first_line: number; readonly length_mm: number }[];
  readonly cut_length_mm: number;
  readonly corners: Corners;
}

function survey(steps: PlanColumns): Survey {
  const bounds = new GrowingBounds();
  const cut_bounds = new GrowingBounds();
  const contours: { first_line: number; length_mm: number }[] = [];
  // Columns of numbers, not objects: a long program has as many corners as lines.
  const corner_at: number[] = [];
  const turns_degrees: number[] = [];
  const corner_contour: number[] = [];
  let cut_length_mm = 0;
  let before = -1;
  for (let index = 0; index < steps.count; index++) {
    const kind = steps.kind[index];
    if (kind === BlockKind.torchOn) {
      contours.push({ first_line: steps.line[index], length_mm: 0 });
      before = -1;
    }
    if (!isMove(kind)) continue;
    bounds.addMove(steps, index);
    if (steps.torch[index] === 0) continue;
    cut_bounds.addMove(steps, index);
    cut_length_mm += steps.length_mm[index];
    contours[contours.length - 1].length_mm += steps.length_mm[index];
    const turn_degrees = before < 0 ? 0 : turnBetween(steps, before, index);
    if (turn_degrees > CORNER_DEGREES) {
      corner_at.push(index);
      turns_degrees.push(turn_degrees);
      corner_contour.push(contours.length - 1);
    }
    before = index;
  }
  return {
    bounds: bounds.get(),
    cut_bounds: cut_bounds.get(),
    contours,
    cut_length_mm,
    corners: {
      path_mm: picked(steps.start_path_mm, corner_at),
      x_mm: picked(steps.start_x_mm, corner_at),
      y_mm: picked(steps.start_y_mm, corner_at),
      turn_degrees: new Float64Array(turns_degrees),
      contour: new Int32Array(corner_contour),
    },
  };
}

function picked(column: Float64Array, at: readonly number[]): Float64Array {
  const values = new Float64Array(at.length);
  for (let k = 0; k < at.length; k++) values[k] = column[at[k]];
  return values;
}

/** In degrees, 0…180. */
function turnBetween(steps: PlanColumns, before: number, after: number): number {
  const ax = steps.end_dx[before];
  const ay = steps.end_dy[before];
  const bx = steps.start_dx[after];
  const by = steps.start_dy[after];
  return Math.abs(angleOf(ax * bx + ay * by, ax * by - ay * bx)) * DEGREES_PER_RAD;
}

class GrowingBounds {
  private min_x_mm = Number.POSITIVE_INFINITY;
  private min_y_mm = Number.POSITIVE_INFINITY;
  private max_x_mm = Number.NEGATIVE_INFINITY;
  private max_y_mm = Number.NEGATIVE_INFINITY;

  addMove(steps: PlanColumns, index: number): void {
    this.add(steps.start_x_mm[index], steps.start_y_mm[index]);
    this.add(steps.end_x_mm[index], steps.end_y_mm[index]);
    if (isArc(steps.kind[index])) this.addArc(steps, index);
  }

  get(): Bounds | undefined {
    if (this.min_x_mm > this.max_x_mm) return undefined;
    const { min_x_mm, min_y_mm, max_x_mm, max_y_mm } = this;
    return { min_x_mm, min_y_mm, max_x_mm, max_y_mm };
  }

  /** The points of an arc that lie farthest along an axis, where the arc passes them. */
  private addArc(steps: PlanColumns, index: number): void {
    const greatest_mm = steps.radius_mm[index] + Math.max(0, steps.radius_change_mm[index]);
    if (this.holdsCircle(steps.centre_x_mm[index], steps.centre_y_mm[index], greatest_mm)) return;
    const sweep_rad = steps.sweep_rad[index];
    const turn = sweep_rad < 0 ? -1 : 1;
    // The radius stands a quarter turn behind the direction of travel.
    const start_x = turn * steps.start_dy[index];
    const start_y = -turn * steps.start_dx[index];
    for (let axis = 0; axis < 4; axis++) {
      const x = axis === 0 ? 1 : axis === 2 ? -1 : 0;
      const y = axis === 1 ? 1 : axis === 3 ? -1 : 0;
      let angle_rad = angleOf(start_x * x + start_y * y, turn * (start_x * y - start_y * x));
      if (angle_rad < 0) angle_rad += FULL_TURN_RAD;
      const share = angle_rad / Math.abs(sweep_rad);
      if (share > 1) continue;
      const radius_mm = steps.radius_mm[index] + share * steps.radius_change_mm[index];
      this.add(steps.centre_x_mm[index] + radius_mm * x, steps.centre_y_mm[index] + radius_mm * y);
    }
  }

  private holdsCircle(x_mm: number, y_mm: number, radius_mm: number): boolean {
    return (
      x_mm - radius_mm >= this.min_x_mm &&
      x_mm + radius_mm <= this.max_x_mm &&
      y_mm - radius_mm >= this.min_y_mm &&
      y_mm + radius_mm <= this.max_y_mm
    );
  }

  private add(x_mm: number, y_mm: number): void {
    if (x_mm < this.min_x_mm) this.min_x_mm = x_mm;
    if (y_mm < this.min_y_mm) this.min_y_mm = y_mm;
    if (x_mm > this.max_x_mm) this.max_x_mm = x_mm;
    if (y_mm > this.max_y_mm) this.max_y_mm = y_mm;
  }
}

/** The rectangle around some moves. @param to the last of them; both ends are moves */
export function stepBounds(steps: PlanColumns, from: number, to: number): Bounds {
  const bounds = new GrowingBounds();
  for (let index = from; index <= to; index++) if (isMove(steps.kind[index])) bounds.addMove(steps, index);
  return bounds.get() as Bounds;
}

/** A program with its path, speeds and times: all that a `MotionPlayer` needs. */
export interface Plan extends Survey {
  readonly file: string;
  readonly limits: MotionLimits;
  readonly steps: PlanColumns;
  /** Motion and dwells; the waits for the motion permit come on top. */
  readonly duration_s: number;
}

/**
 * Plans the motion of a program within the limits of the table.
 * @throws StandoffError motion-limit when a limit is not above 0.
 */
export function planProgram(program: Program, limits: MotionLimits): Plan {
  for (const [name, value] of Object.entries(limits)) {
    if (value > 0 && value < Number.POSITIVE_INFINITY) continue;
    if (name === 'torch_off_mm_s' && value === 0) continue;
    throw new StandoffError('motion-limit', `the limit ${name} is ${value}`, 'give a number above 0');
  }
  const steps = layOut(program, limits.rapid_mm_s);
  planSpeeds(steps, limits);
  const last = steps.count - 1;
  return {
    file: program.file,
    limits,
    steps,
    duration_s: steps.start_s[last] + steps.duration_s[last],
    ...survey(steps),
  };
}
