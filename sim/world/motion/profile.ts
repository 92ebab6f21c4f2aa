/** How a straight or curved piece of path is run: speed up, keep the speed, slow down. */
export interface Trapezoid {
  readonly peak_mm_s: number;
  readonly accelerate_s: number;
  readonly cruise_s: number;
  readonly brake_s: number;
}

/**
 * Greatest speed on a piece of path: √((2abD + b·v₀² + a·v₁²)/(a + b)) with acceleration a, braking b, length D
 * and the speeds v₀ and v₁ at its ends (elementary mechanics; from rest to rest √(2abD/(a + b)), check-values).
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
 * The fastest profile over a piece of path. The end speeds must be reachable from each other within the
 * length and not above the limit; all quantities ≥ 0, the accelerations and the length > 0.
 */
export function trapezoid(
  entry_mm_s: number,
  exit_mm_s: number,
  limit_mm_s: number,
  acceleration_mm_s2: number,
  braking_mm_s2: number,
  length_mm: number,
): Trapezoid {
  const triangle_mm_s = peakSpeed_mm_s(entry_mm_s, exit_mm_s, acceleration_mm_s2, braking_mm_s2, length_mm);
  const peak_mm_s = Math.max(entry_mm_s, exit_mm_s, Math.min(limit_mm_s, triangle_mm_s));
  const accelerate_s = (peak_mm_s - entry_mm_s) / acceleration_mm_s2;
  const brake_s = (peak_mm_s - exit_mm_s) / braking_mm_s2;
  const sloped_mm = ((entry_mm_s + peak_mm_s) * accelerate_s + (peak_mm_s + exit_mm_s) * brake_s) / 2;
  // Rounding can leave a trace of either sign where the profile is a triangle.
  return { peak_mm_s, accelerate_s, cruise_s: Math.max(0, length_mm - sloped_mm) / peak_mm_s, brake_s };
}
