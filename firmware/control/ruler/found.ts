// What a start finds of the arc, as it is remembered: the sample in hand, and one belief for each lag that the feed effect may have.

/** Lags from 20 ms in ratio 1.2, as the share that they go in half a cycle (1 − e^(−12/lag))… */
export const HALF_SHARES = memory.data<f32>([
  0.451188, 0.393469, 0.340759, 0.293343, 0.251314, 0.214512, 0.182579, 0.155065, 0.131481, 0.111354, 0.094209,
]);
/** …and in a tick (1/(1 + lag)). */
export const TICK_SHARES = memory.data<f32>([
  0.047619, 0.04, 0.033557, 0.028121, 0.023545, 0.019699, 0.01647, 0.013763, 0.011495, 0.009598, 0.00801,
]);
/** Lags of the feed effect that are weighed against each other, and the bytes of one. */
export const LAG_COUNT = 11;
export const LAG_BYTES: usize = 64;

/** What a start measures and the voltage carries along the path; see `cycle.ts`. */
@unmanaged
export class Ruler {
  /** Tick of the cycle: 0 takes a sample, two each belong to a lag, the last one sums up. */
  place: i32;
  /** An arc burns, and this contour has its start. */
  begun: i32;
  /** The target is too uncertain: Z goes by touched height and estimated sheet. */
  by_height: i32;
  /** Whether the present sample counts, and how many samples no more do after a crossing. */
  measures: i32;
  waits: i32;
  /** No sample at cut height has been taken yet in this contour. */
  first: i32;
  /** Sum of Z over the mean, in steps, and its place in the ring. */
  z_sum: i32;
  z_place: i32;
  /** Half stretches of the dwell that are whole, ticks of the present one; their sums are beside. */
  halves: i32;
  since_ms: i32;
  /** What is left of the pierce in the voltage, and the share of it that goes in a tick. */
  excess_V: f32;
  excess_share: f32;
  /** What contours have told of its decay: sums of products and of squares. */
  excess_product_V2: f32;
  excess_square_V2: f32;

  // Sums of the present cycle, and where the torch is from where it touched
  slow_sum: f32;
  slow_before_sum: f32;
  feed_sum: f32;
  path_mm: f32;
  x_mm: f32;
  y_mm: f32;
  before_x_mm: f32;
  before_y_mm: f32;
  /** The last look: there are two to a sample. */
  now_V: f32;
  middle_x_mm: f32;
  middle_y_mm: f32;

  // The sample: place and rise for each unit of slope are those of the middle of the mean
  sample_V: f32;
  variance_V2: f32;
  step_mm: f32;
  /** What the slope has changed by since the last sample, its variance. */
  bend_2: f32;
  slow_before: f32;
  slow: f32;
  by_x_V: f32;
  by_y_V: f32;

  // Of the lag in hand: what the sample is off, its variance, and the gains before they are divided by it
  off_V: f32;
  off_V2: f32;
  slowness: f32;
  gain_v: f32;
  gain_f: f32;
  gain_x: f32;
  gain_y: f32;

  // Weighted sums over the lags, and what they gave
  highest: f32;
  next_highest: f32;
  weight: f32;
  sum_V: f32;
  sum_effect_V: f32;
  sum_slope_x: f32;
  sum_slope_y: f32;
  sum_target_V: f32;
  sum_square_V2: f32;
  sum_share: f32;
  found_V: f32;
  found_effect_V: f32;
  slope_x: f32;
  slope_y: f32;
  effect_share: f32;
  deviation_mm: f32;
  /** How far the sheet is thought to have risen under the arc, and how much of that stands where the torch is. */
  grown_mm: f32;
  growth_mm: f32;
  /** Of the last stretch of the lowering: the sum of the voltage less what the height brings to it, and its ticks. */
  lower_sum_V: f32;
  lower_ticks: i32;
}

/**
 * One lag of the feed effect: what is believed if it is the right one, with the covariances. V(olts at cut height), F(eed effect),
 * slopes X and Y of the sheet from where it was touched.
 */
@unmanaged
export class Lag {
  arc_V: f32;
  effect_V: f32;
  slope_x: f32;
  slope_y: f32;
  /** Slowness through this lag, and the logarithm of the weight. */
  slowness: f32;
  log_weight: f32;
  vv: f32;
  vf: f32;
  vx: f32;
  vy: f32;
  ff: f32;
  fx: f32;
  fy: f32;
  xx: f32;
  xy: f32;
  yy: f32;
}
