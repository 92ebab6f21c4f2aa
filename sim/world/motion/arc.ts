import { angleOf, FULL_TURN_RAD } from './angle.js';

/** A point of the plane, mm. */
export interface Point {
  readonly x_mm: number;
  readonly y_mm: number;
}

/** Two points nearer than this are one: below any step, above the rounding of sums of coordinates. */
export const SAME_POINT_MM = 1e-6;

export function samePoint(ax_mm: number, ay_mm: number, bx_mm: number, by_mm: number): boolean {
  return Math.abs(ax_mm - bx_mm) < SAME_POINT_MM && Math.abs(ay_mm - by_mm) < SAME_POINT_MM;
}

/**
 * Centre of the arc with a given radius, as NIST IR 6556 (second hand) has it: the arc turns up to 180° for
 * a positive radius and beyond for a negative one.
 * @param radius_mm signed; its amount may fall short of half the chord by `tolerance_mm`, which makes a half circle.
 * @returns undefined when no circle of that radius passes through both points, or when they are one.
 */
export function centreOfRadius(
  start: Point,
  end: Point,
  radius_mm: number,
  clockwise: boolean,
  tolerance_mm: number,
): Point | undefined {
  const x = end.x_mm - start.x_mm;
  const y = end.y_mm - start.y_mm;
  const half_chord_mm = Math.sqrt(x * x + y * y) / 2;
  if (half_chord_mm < SAME_POINT_MM / 2 || half_chord_mm > Math.abs(radius_mm) + tolerance_mm) return undefined;
  const rest = radius_mm * radius_mm - half_chord_mm * half_chord_mm;
  const left = clockwise === radius_mm < 0 ? 1 : -1;
  const share = (left * Math.sqrt(Math.max(0, rest))) / (2 * half_chord_mm);
  return { x_mm: start.x_mm + x / 2 - y * share, y_mm: start.y_mm + y / 2 + x * share };
}

/**
 * An arc as the planner and the player need it. The two radii may differ within the tolerance of the
 * standard; the radius then changes in proportion to the angle, so that the path ends where it should.
 */
export interface Arc {
  readonly centre_x_mm: number;
  readonly centre_y_mm: number;
  /** Unit vector from the centre to the start, and to the end. */
  readonly start_x: number;
  readonly start_y: number;
  readonly end_x: number;
  readonly end_y: number;
  readonly start_radius_mm: number;
  /** Change of the radius from start to end. */
  readonly radius_change_mm: number;
  /** Positive counter-clockwise; its amount is above 0 and at most a full turn. */
  readonly sweep_rad: number;
  readonly length_mm: number;
}

/** Geometry of an arc; start = end makes a full circle. Both radii must be above 0. */
export function arcBetween(start: Point, end: Point, centre: Point, clockwise: boolean): Arc {
  const ax = start.x_mm - centre.x_mm;
  const ay = start.y_mm - centre.y_mm;
  const bx = end.x_mm - centre.x_mm;
  const by = end.y_mm - centre.y_mm;
  const start_radius_mm = Math.sqrt(ax * ax + ay * ay);
  const end_radius_mm = Math.sqrt(bx * bx + by * by);
  let sweep_rad = FULL_TURN_RAD;
  if (!samePoint(ax, ay, bx, by)) {
    const dot = ax * bx + ay * by;
    const cross = ax * by - ay * bx;
    sweep_rad = angleOf(dot, clockwise ? -cross : cross);
    if (sweep_rad <= 0) sweep_rad += FULL_TURN_RAD;
  }
  return {
    centre_x_mm: centre.x_mm,
    centre_y_mm: centre.y_mm,
    start_x: ax / start_radius_mm,
    start_y: ay / start_radius_mm,
    end_x: bx / end_radius_mm,
    end_y: by / end_radius_mm,
    start_radius_mm,
    radius_change_mm: end_radius_mm - start_radius_mm,
    sweep_rad: clockwise ? -sweep_rad : sweep_rad,
    length_mm: ((start_radius_mm + end_radius_mm) / 2) * sweep_rad,
  };
}
