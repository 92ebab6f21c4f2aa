/**
 * Sine, cosine and the angle between two directions from additions, multiplications and divisions only, so that every
 * engine gives the same bits, which `Math.sin` and `Math.atan2` do not promise; and arcs made of them.
 */

/**
 * The rotation by one angle. `set` reduces the angle to |x| ≤ π/4 by quarter turns and sums the Taylor series
 * there; the first term left out is (π/4)^17/17! ≈ 5e-17, below the rounding of a double.
 */
export class Rotation {
  cosine = 1;
  sine = 0;

  /** @param angle_rad any angle of a few turns; the error grows by about 1e-16 a turn. */
  set(angle_rad: number): void {
    const quarters = Math.floor(angle_rad / QUARTER_TURN_RAD + 0.5);
    const x = angle_rad - quarters * QUARTER_TURN_RAD;
    const q = x * x;
    const sine = x * (1 - q * (S3 - q * (S5 - q * (S7 - q * (S9 - q * (S11 - q * (S13 - q * S15)))))));
    const cosine = 1 - q * (C2 - q * (C4 - q * (C6 - q * (C8 - q * (C10 - q * (C12 - q * (C14 - q * C16)))))));
    switch (quarters & 3) {
      case 0:
        this.cosine = cosine;
        this.sine = sine;
        break;
      case 1:
        this.cosine = -sine;
        this.sine = cosine;
        break;
      case 2:
        this.cosine = -cosine;
        this.sine = -sine;
        break;
      default:
        this.cosine = sine;
        this.sine = -cosine;
    }
  }
}

/**
 * Angle in radians of the direction (x, y) from the x axis, −π < angle ≤ π; 0 for the zero vector.
 * A coarse polynomial (4e-3 rad off) is corrected twice by the sine of what it misses, which leaves less than
 * the rounding.
 */
export function angleOf(x: number, y: number): number {
  const length = Math.sqrt(x * x + y * y);
  if (length === 0) return 0;
  const across = Math.abs(y) <= Math.abs(x);
  const ratio = across ? y / x : x / y;
  let angle_rad = ratio * (HALF_QUARTER_RAD + 0.273 * (1 - Math.abs(ratio)));
  if (!across) angle_rad = (y > 0 ? QUARTER_TURN_RAD : -QUARTER_TURN_RAD) - angle_rad;
  else if (x < 0) angle_rad += y >= 0 ? Math.PI : -Math.PI;
  for (let pass = 0; pass < 2; pass++) {
    work.set(angle_rad);
    angle_rad += (work.cosine * y - work.sine * x) / length;
  }
  return angle_rad;
}

export const FULL_TURN_RAD = 2 * Math.PI;
export const DEGREES_PER_RAD = 180 / Math.PI;

const QUARTER_TURN_RAD = Math.PI / 2;
const HALF_QUARTER_RAD = Math.PI / 4;
const work = new Rotation();

/** Taylor coefficients, 1/n!. */
const [C2, S3, C4, S5, C6, S7, C8, S9, C10, S11, C12, S13, C14, S15, C16] = inverseFactorials();

function inverseFactorials(): number[] {
  const list: number[] = [];
  let factorial = 1;
  for (let n = 2; n <= 16; n++) {
    factorial *= n;
    list.push(1 / factorial);
  }
  return list;
}

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
 * An arc as the planner and the player need it; start = end makes a full circle. Both radii must be above 0. They may
 * differ within the tolerance of the standard; the radius then changes in proportion to the angle, so that the path
 * ends where it should.
 */
export function arcBetween(start: Point, end: Point, centre: Point, clockwise: boolean) {
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
    /** Unit vector from the centre to the start, and to the end. */
    start_x: ax / start_radius_mm,
    start_y: ay / start_radius_mm,
    end_x: bx / end_radius_mm,
    end_y: by / end_radius_mm,
    start_radius_mm,
    /** From start to end. */
    radius_change_mm: end_radius_mm - start_radius_mm,
    /** Positive counter-clockwise; its amount is above 0 and at most a full turn. */
    sweep_rad: clockwise ? -sweep_rad : sweep_rad,
    length_mm: ((start_radius_mm + end_radius_mm) / 2) * sweep_rad,
  };
}
