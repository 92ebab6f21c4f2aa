// Apart from state.ts, which says where it stands: this is no state, and the file would be too long.

/** What follows from the parameters alone; computed when one is set, not in every tick. */
@unmanaged
export class Derived {
  /** Readings in the mean: their whole and fractional part, the zero reading of all of them, volts for a count of their sum. */
  mean_whole: i32;
  mean_part: f32;
  mean_zero: f32;
  mean_volts: f32;
  /** Cosine and sine of what a mains voltage turns by in a tick. */
  mains_cosine: f32;
  mains_sine: f32;
  /** The same of the readings of one tick. */
  tick_zero: f32;
  tick_volts: f32;
  /** Spike rejection, in counts and readings. */
  spike_limit: i32;
  spike_release: i32;
  spike_longest: i32;
  /** Shares of first-order lags in a tick. */
  feed_share: f32;
  delay_share: f32;
  effect_share: f32;
  /** 1/target feed. */
  target_pace_s_per_mm: f32;
  /** −1, twice the target feed, where the feed effect is found; a told one is not believed above the target feed. */
  least_slowness: f32;
  /** Below this a contour is slow: a small hole, perhaps. */
  slow_feed_mm_s: f32;
  smoothing_share: f32;

  // Reciprocals and products of parameters
  mm_per_x_step: f32;
  mm_per_y_step: f32;
  mm_per_z_step: f32;
  mm_per_V: f32;
  /** gain_i × tick, and tick / tracking time. */
  gain_i_per_tick: f32;
  tracking_share: f32;
  /** Whether the derivative is used. */
  gain_d_used: i32;
  /** Largest change of the velocity of Z in a tick, mm/s. */
  change_mm_s: f32;
  /** Z steps in a tick for a velocity of 1 mm/s. */
  steps_per_mm_s: f32;
  /** The same of Z summed over the mean; ticks in the mean. */
  mm_per_z_sum: f32;
  mean_ticks: i32;
  /** Half the reversal. */
  backlash_steps: f32;
  /** Steps to a stop for the square of the velocity, (mm/s)². */
  stop_steps_per_mm2_s2: f32;
  slope_path_per_mm: f32;
  ceiling_mm: f32;
  /** How far the trim may lower the target, V. */
  deepest_trim_V: f32;
  crossing_rise_V: f32;
  /** No arc is believed to have more at cut height over a table that stands, V. */
  standing_most_V: f32;
  /** No arc is believed to lose more from standstill to the target feed, V. */
  most_effect_V: f32;
  /** So much of cut height may be in doubt before the target is raised for it, mm. */
  doubt_mm: f32;
  /** In a hold Z always rises when it seems so much too low, and is not carried down when it seems so, mm. */
  up_band_mm: f32;
  near_mm: f32;
  /** Z goes down by so much at most, mm, and by so much more for each mm of path. */
  drop_mm: f32;
  fall_slope: f32;
  crossing_left_V: f32;
  /** A rise over the crossing window that no slow crossing gives, V. */
  jump_V: f32;
  /** A fall of the sheet as the voltage sees it that no sheet has, mm. */
  cliff_mm: f32;
  reversed_V: f32;

  // Whole steps and ticks
  x_most_steps: i32;
  y_most_steps: i32;
  z_most_steps: i32;
  travel_steps: i32;
  dive_steps: i32;
  /** To come to a stop from the highest speed of Z. */
  longest_stop_steps: i32;
  /** Cut height without the allowance of the floor, above the touched sheet; cut height with that of the ceiling. */
  floor_steps: i32;
  ceiling_steps: i32;
  arc_on_ticks: i32;
  arc_off_ticks: i32;
  /** What a tick below the arc window takes off the count of the arc's debounce. */
  arc_gone_down: i32;
  fall_ticks: i32;
  /** Height of a stroke of the proof. */
  stroke_steps: i32;
  /** Tick after a sample in which Z is as the mean of the next one has it. */
  stroke_look: i32;
  strike_ticks: i32;
  /** Last tick after trigger on in which a proof may begin again. */
  proof_begins_ticks: i32;
  pierce_ticks: i32;
  settle_ticks: i32;
  crossing_ticks: i32;
  crossing_window_ticks: i32;
  arc_longest_ticks: i32;
  standstill_ticks: i32;
  stray_ticks: i32;
  stuck_most_readings: i32;

  /** Target and feed effect are found at each start. */
  target_found: i32;
  /** The supply's contact must agree. */
  contact_used: i32;
  /** The ids of two parameters that contradict each other, as `contradiction` gives them; 0: none. */
  contradiction: i32;
  /** Steps of Z at its highest speed, 1/s. */
  z_steps_per_s: f32;
}
