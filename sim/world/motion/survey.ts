import { angleOf, DEGREES_PER_RAD, FULL_TURN_RAD } from './angle.js';
import { isArc, isMove, type PlanColumns } from './columns.js';
import { BlockKind } from './program.js';

/** A box with its sides along X and Y. */
export interface Box {
  readonly min_x_mm: number;
  readonly min_y_mm: number;
  readonly max_x_mm: number;
  readonly max_y_mm: number;
}

/** What is cut between asking for the torch and taking the request back. */
export interface Contour {
  /** Line of the M3. */
  readonly first_line: number;
  readonly length_mm: number;
}

/** Turns sharper than `CORNER_DEGREES` between moves with the torch asked for, in the order of the path. */
export interface Corners {
  /** Path with the torch asked for, from the start of the program. */
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
export interface Survey {
  /** All moves; undefined when nothing moves. */
  readonly bounds: Box | undefined;
  /** Moves with the torch asked for; undefined when nothing is cut. */
  readonly cut_bounds: Box | undefined;
  readonly contours: readonly Contour[];
  readonly cut_length_mm: number;
  readonly corners: Corners;
}

export function survey(steps: PlanColumns): Survey {
  const bounds = new GrowingBox();
  const cut_bounds = new GrowingBox();
  const contours: { first_line: number; length_mm: number }[] = [];
  const corners: number[] = [];
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
    if (before >= 0 && turn_degrees(steps, before, index) > CORNER_DEGREES)
      corners.push(before, index, contours.length - 1);
    before = index;
  }
  return {
    bounds: bounds.box(),
    cut_bounds: cut_bounds.box(),
    contours,
    cut_length_mm,
    corners: cornerColumns(steps, corners),
  };
}

function cornerColumns(steps: PlanColumns, corners: readonly number[]): Corners {
  const count = corners.length / 3;
  const befores = Array.from({ length: count }, (_, corner) => corners[3 * corner]);
  const afters = Array.from({ length: count }, (_, corner) => corners[3 * corner + 1]);
  return {
    path_mm: Float64Array.from(afters, (after) => steps.start_path_mm[after]),
    x_mm: Float64Array.from(afters, (after) => steps.start_x_mm[after]),
    y_mm: Float64Array.from(afters, (after) => steps.start_y_mm[after]),
    turn_degrees: Float64Array.from(afters, (after, corner) => turn_degrees(steps, befores[corner], after)),
    contour: Int32Array.from({ length: count }, (_, corner) => corners[3 * corner + 2]),
  };
}

function turn_degrees(steps: PlanColumns, before: number, after: number): number {
  const ax = steps.end_dx[before];
  const ay = steps.end_dy[before];
  const bx = steps.start_dx[after];
  const by = steps.start_dy[after];
  return Math.abs(angleOf(ax * bx + ay * by, ax * by - ay * bx)) * DEGREES_PER_RAD;
}

class GrowingBox {
  private min_x_mm = Number.POSITIVE_INFINITY;
  private min_y_mm = Number.POSITIVE_INFINITY;
  private max_x_mm = Number.NEGATIVE_INFINITY;
  private max_y_mm = Number.NEGATIVE_INFINITY;

  addMove(steps: PlanColumns, index: number): void {
    this.add(steps.start_x_mm[index], steps.start_y_mm[index]);
    this.add(steps.end_x_mm[index], steps.end_y_mm[index]);
    if (isArc(steps.kind[index])) this.addArc(steps, index);
  }

  box(): Box | undefined {
    if (this.min_x_mm > this.max_x_mm) return undefined;
    const { min_x_mm, min_y_mm, max_x_mm, max_y_mm } = this;
    return { min_x_mm, min_y_mm, max_x_mm, max_y_mm };
  }

  /** The points of an arc that lie farthest along an axis, where the arc passes them. */
  private addArc(steps: PlanColumns, index: number): void {
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

  private add(x_mm: number, y_mm: number): void {
    this.min_x_mm = Math.min(this.min_x_mm, x_mm);
    this.min_y_mm = Math.min(this.min_y_mm, y_mm);
    this.max_x_mm = Math.max(this.max_x_mm, x_mm);
    this.max_y_mm = Math.max(this.max_y_mm, y_mm);
  }
}
