/**
 * The quantities that the parts of the world hand to one another, as places in one Float64Array: a number
 * passed to a function that is not inlined, or kept in a field, would be boxed by the engine on each tick.
 */
export const SIGNAL = {
  /** Torch in X and Y, mm; feed, mm/s; length of path, mm; unit vector of the motion. */
  x_mm: 0,
  y_mm: 1,
  feed_mm_s: 2,
  path_mm: 3,
  direction_x: 4,
  direction_y: 5,
  /** Carriage as the height of a tip that hangs free; undeflected surface; distance past the sheet's edge. */
  carriage_mm: 6,
  surface_mm: 7,
  beyond_mm: 8,
  /** True tip, true surface (pressed down where the tip rests), and their distance. */
  torch_mm: 9,
  plate_mm: 10,
  standoff_mm: 11,
  /** Share of missing metal ahead, the part of it removed by this run, and the share as the arc feels it. */
  ahead: 12,
  removed: 13,
  missing: 14,
  /** Arc voltage at the tick's beginning and end; slow noise at beginning and end. */
  before_V: 15,
  true_V: 16,
  slow_before_V: 17,
  slow_V: 18,
  sensed_V: 19,
  /** Motor in mm of carriage; rise by feed, V; what is left of the pierce's excess, 0…1; arc length, mm. */
  motor_mm: 20,
  feed_V: 21,
  excess: 22,
  length_mm: 23,
} as const;

export const SIGNAL_COUNT = 24;
