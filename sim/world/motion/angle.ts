/**
 * Sine, cosine and the angle between two directions from additions, multiplications and divisions only, so
 * that every engine gives the same bits, which `Math.sin` and `Math.atan2` do not promise.
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
