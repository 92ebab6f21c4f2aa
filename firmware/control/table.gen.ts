// Generated from the rows by `npm run generate`. Do not edit.

export const MINIMA = memory.data<f32>([
  10.0, // reading_gain_mV
  0.0, // reading_zero_counts
  45.0, // mains_Hz
  0.0, // spike_V
  1.0, // spike_ms
  5.0, // rest_V
  0.0, // stuck_ms
  20.0, // arc_low_V
  60.0, // arc_high_V
  40.0, // transfer_V
  1.0, // arc_on_ms
  1.0, // arc_off_ms
  0.0, // supply_contact
  1.0, // seek_fast_mm_s
  0.2, // seek_slow_mm_s
  5.0, // seek_travel_mm
  -3.0, // touch_offset_mm
  1.0, // pierce_height_mm
  0.0, // pierce_ms
  0.5, // cut_height_mm
  100.0, // strike_ms
  0.0, // strike_retries
  50.0, // fall_ms
  0.0, // settle_ms
  0.0, // target_learned
  30.0, // target_V
  1.0, // target_feed_mm_s
  20.0, // learn_ms
  1.0, // learn_band_V
  0.1, // learn_change_V
  -10.0, // trim_V
  0.5, // arc_slope_V_per_mm
  0.0, // gain_p_per_s
  0.0, // gain_i_per_s2
  0.0, // gain_d
  5.0, // tracking_ms
  0.0, // smoothing_ms
  0.0, // reversal_um
  1.0, // x_steps_per_mm
  1.0, // y_steps_per_mm
  10.0, // z_steps_per_mm
  1.0, // z_velocity_mm_s
  50.0, // z_acceleration_mm_s2
  0.5, // follow_down_mm_s
  5.0, // travel_mm
  1.0, // feed_filter_ms
  0.0, // hold_carried
  2.0, // slope_path_mm
  0.0, // slope_limit
  0.0, // corner_fraction
  0.5, // corner_path_mm
  0.0, // feed_effect_V
  1.0, // feed_effect_ms
  0.0, // feed_effect_learned
  0.0, // crossing_rise_mm_per_s
  2.0, // crossing_window_ms
  0.0, // crossing_band_mm
  10.0, // crossing_ms
  0.5, // crossing_path_mm
  0.2, // up_band_mm
  0.0, // floor_allowance_mm
  1.0, // arc_longest_s
  1.0, // dive_mm
  0.2, // wrong_way_mm
  50.0, // stray_ms
  1.0, // standstill_s
  0.0, // external_path_mm
]);
export const MAXIMA = memory.data<f32>([
  500.0, // reading_gain_mV
  1000.0, // reading_zero_counts
  65.0, // mains_Hz
  100.0, // spike_V
  20.0, // spike_ms
  60.0, // rest_V
  1000.0, // stuck_ms
  200.0, // arc_low_V
  400.0, // arc_high_V
  400.0, // transfer_V
  500.0, // arc_on_ms
  1000.0, // arc_off_ms
  1.0, // supply_contact
  50.0, // seek_fast_mm_s
  10.0, // seek_slow_mm_s
  150.0, // seek_travel_mm
  3.0, // touch_offset_mm
  10.0, // pierce_height_mm
  5000.0, // pierce_ms
  6.0, // cut_height_mm
  5000.0, // strike_ms
  5.0, // strike_retries
  3000.0, // fall_ms
  2000.0, // settle_ms
  1.0, // target_learned
  250.0, // target_V
  500.0, // target_feed_mm_s
  2000.0, // learn_ms
  60.0, // learn_band_V
  20.0, // learn_change_V
  10.0, // trim_V
  12.0, // arc_slope_V_per_mm
  100.0, // gain_p_per_s
  2000.0, // gain_i_per_s2
  1.0, // gain_d
  2000.0, // tracking_ms
  50.0, // smoothing_ms
  100.0, // reversal_um
  5000.0, // x_steps_per_mm
  5000.0, // y_steps_per_mm
  5000.0, // z_steps_per_mm
  150.0, // z_velocity_mm_s
  10000.0, // z_acceleration_mm_s2
  50.0, // follow_down_mm_s
  200.0, // travel_mm
  200.0, // feed_filter_ms
  1.0, // hold_carried
  100.0, // slope_path_mm
  0.5, // slope_limit
  0.99, // corner_fraction
  50.0, // corner_path_mm
  40.0, // feed_effect_V
  500.0, // feed_effect_ms
  1.0, // feed_effect_learned
  1000.0, // crossing_rise_mm_per_s
  15.0, // crossing_window_ms
  20.0, // crossing_band_mm
  2000.0, // crossing_ms
  50.0, // crossing_path_mm
  10.0, // up_band_mm
  5.0, // floor_allowance_mm
  3600.0, // arc_longest_s
  50.0, // dive_mm
  5.0, // wrong_way_mm
  10000.0, // stray_ms
  60.0, // standstill_s
  1000.0, // external_path_mm
]);
export const DEFAULTS = memory.data<f32>([
  96.68, // reading_gain_mV
  124.0, // reading_zero_counts
  50.0, // mains_Hz
  15.0, // spike_V
  4.0, // spike_ms
  25.0, // rest_V
  50.0, // stuck_ms
  60.0, // arc_low_V
  190.0, // arc_high_V
  136.0, // transfer_V
  30.0, // arc_on_ms
  100.0, // arc_off_ms
  0.0, // supply_contact
  12.0, // seek_fast_mm_s
  2.0, // seek_slow_mm_s
  45.0, // seek_travel_mm
  0.0, // touch_offset_mm
  3.0, // pierce_height_mm
  500.0, // pierce_ms
  1.5, // cut_height_mm
  1500.0, // strike_ms
  2.0, // strike_retries
  500.0, // fall_ms
  40.0, // settle_ms
  1.0, // target_learned
  118.0, // target_V
  50.0, // target_feed_mm_s
  200.0, // learn_ms
  15.0, // learn_band_V
  2.0, // learn_change_V
  0.0, // trim_V
  4.0, // arc_slope_V_per_mm
  22.0, // gain_p_per_s
  160.0, // gain_i_per_s2
  0.0, // gain_d
  100.0, // tracking_ms
  5.0, // smoothing_ms
  30.0, // reversal_um
  160.0, // x_steps_per_mm
  160.0, // y_steps_per_mm
  400.0, // z_steps_per_mm
  40.0, // z_velocity_mm_s
  1500.0, // z_acceleration_mm_s2
  10.0, // follow_down_mm_s
  60.0, // travel_mm
  12.0, // feed_filter_ms
  1.0, // hold_carried
  10.0, // slope_path_mm
  0.12, // slope_limit
  0.9, // corner_fraction
  10.0, // corner_path_mm
  8.0, // feed_effect_V
  50.0, // feed_effect_ms
  1.0, // feed_effect_learned
  90.0, // crossing_rise_mm_per_s
  8.0, // crossing_window_ms
  3.0, // crossing_band_mm
  400.0, // crossing_ms
  10.0, // crossing_path_mm
  1.5, // up_band_mm
  0.7, // floor_allowance_mm
  600.0, // arc_longest_s
  15.0, // dive_mm
  0.3, // wrong_way_mm
  800.0, // stray_ms
  5.0, // standstill_s
  20.0, // external_path_mm
]);
/** One byte a row: 1 where only whole numbers are taken. */
export const INTEGERS = memory.data<u8>([0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);

/** Three bytes a relation: the lower parameter, the upper one, 1 where they may not be equal either. */
export const RELATIONS = memory.data<u8>([
  5, 7, 1, // rest_V, arc_low_V
  7, 25, 1, // arc_low_V, target_V
  25, 8, 1, // target_V, arc_high_V
  19, 17, 0, // cut_height_mm, pierce_height_mm
  16, 19, 1, // touch_offset_mm, cut_height_mm
  14, 13, 0, // seek_slow_mm_s, seek_fast_mm_s
  15, 44, 0, // seek_travel_mm, travel_mm
  43, 41, 0, // follow_down_mm_s, z_velocity_mm_s
]);
export const RELATION_COUNT = 8;
/** The two whose product is bounded by what the board can put out. */
export const CAPACITY_SPEED = 41;
export const CAPACITY_STEPS = 40;

/** One bit a fault code: Z stops where it is. */
export const FAULTS_THAT_STOP_Z: u32 = 0x2e102e;
/** One bit a fault code: the latched stop is set. */
export const FAULTS_THAT_LATCH: u32 = 0x321000;

/** The parameter block as the module reads it, in the order of the ids. */
@unmanaged
export class Parameters {
  /** arc voltage for one converter count: divider ratio × converter step (mV) */
  reading_gain_mV: f32;
  /** converter reading with 0 V at the tap; above 0, so that reversed leads are seen (counts) */
  reading_zero_counts: f32;
  /** mains frequency; the moving mean spans half its period and so nulls rectifier ripple (Hz) */
  mains_Hz: f32;
  /** a reading further than this from the mean, and from the one half a mains period earlier, is rejected as a spike; 0: none is (V) */
  spike_V: f32;
  /** longest time that readings are rejected; a change that lasts longer is believed (ms) */
  spike_ms: f32;
  /** below this the arc voltage counts as near zero (V) */
  rest_V: f32;
  /** this long without any change of the raw reading during an arc is a stuck reading; 0: not watched (ms) */
  stuck_ms: f32;
  /** lower edge of the arc window (V) */
  arc_low_V: f32;
  /** upper edge of the arc window: above target + kerf crossing + feed effect (V) */
  arc_high_V: f32;
  /** voltage to expect between that of a piercing arc and that of the pilot: only shown, nothing decides by it (V) */
  transfer_V: f32;
  /** time inside the arc window before the arc counts as burning (ms) */
  arc_on_ms: f32;
  /** time outside the arc window before the arc counts as lost: longer than a kerf crossing (ms) */
  arc_off_ms: f32;
  /** 1: the supply's own arc contact is wired and must agree (1) */
  supply_contact: f32;
  /** speed of the first approach to the sheet (mm/s) */
  seek_fast_mm_s: f32;
  /** speed of the second approach and of the lift whose opening contact is the reference (mm/s) */
  seek_slow_mm_s: f32;
  /** give up the touch-off after this much downward travel (mm) */
  seek_travel_mm: f32;
  /** height of the torch tip above the sheet when the touch-off switch opens (mm) */
  touch_offset_mm: f32;
  /** standoff while piercing (mm) */
  pierce_height_mm: f32;
  /** pierce delay: time from arc OK until the torch is lowered (ms) */
  pierce_ms: f32;
  /** standoff while cutting (mm) */
  cut_height_mm: f32;
  /** longest wait for an arc after the trigger goes on (ms) */
  strike_ms: f32;
  /** further attempts after a strike with no arc, before the motion permit was ever given (1) */
  strike_retries: f32;
  /** after the trigger goes off the arc voltage must be near zero within this time (ms) */
  fall_ms: f32;
  /** wait at cut height before the regulator takes over (ms) */
  settle_ms: f32;
  /** 1: target and feed effect are found from each touch-off; 0: the target is target_V (1) */
  target_learned: f32;
  /** arc voltage to hold; with target_learned only what to expect (V) */
  target_V: f32;
  /** feed at which target_V is right (mm/s) */
  target_feed_mm_s: f32;
  /** without effect: retired (ms) */
  learn_ms: f32;
  /** a target found further than this from target_V is dropped, and this bound used (V) */
  learn_band_V: f32;
  /** without effect: retired (V) */
  learn_change_V: f32;
  /** added to the target; the one parameter that may change during a cut, at 2 V/s, by `standoff box trim`; such a change is lost at power-off unless it is kept with the key off (V) */
  trim_V: f32;
  /** arc voltage for each millimetre of standoff; the gains are divided by it (V/mm) */
  arc_slope_V_per_mm: f32;
  /** proportional gain: speed of correction for each millimetre of error (1/s) */
  gain_p_per_s: f32;
  /** integral gain; gain_p_per_s / gain_i_per_s2 is the integral time (1/s²) */
  gain_i_per_s2: f32;
  /** derivative gain on the measurement; 0 is off (1) */
  gain_d: f32;
  /** anti-windup: time in which a saturated integrator is led back (ms) */
  tracking_ms: f32;
  /** low-pass on the error before the regulator (ms) */
  smoothing_ms: f32;
  /** Z turns round only after this much of opposite travel is wanted (µm) */
  reversal_um: f32;
  /** steps of the X axis for a millimetre (1/mm) */
  x_steps_per_mm: f32;
  /** steps of the Y axis for a millimetre (1/mm) */
  y_steps_per_mm: f32;
  /** steps of the Z axis for a millimetre (1/mm) */
  z_steps_per_mm: f32;
  /** highest speed of Z (mm/s) */
  z_velocity_mm_s: f32;
  /** highest acceleration of Z (mm/s²) */
  z_acceleration_mm_s2: f32;
  /** highest downward speed while the regulator owns Z (mm/s) */
  follow_down_mm_s: f32;
  /** Z never goes further than this below where the box took it over (mm) */
  travel_mm: f32;
  /** low-pass on the feed taken from the X and Y steps (ms) */
  feed_filter_ms: f32;
  /** in a hold, 1: Z is carried along the sheet's estimated slope; 0: Z is frozen (1) */
  hold_carried: f32;
  /** path over which the slope estimate forgets (mm) */
  slope_path_mm: f32;
  /** steepest sheet that is believed, in mm of height for each mm of path (1) */
  slope_limit: f32;
  /** hold when the feed falls under this fraction of the cut's running feed; 0: no corner lockout (1) */
  corner_fraction: f32;
  /** longest corner hold, in path (mm) */
  corner_path_mm: f32;
  /** rise of the arc voltage from target feed to standstill at constant standoff; with target_learned only what to expect (V) */
  feed_effect_V: f32;
  /** time constant of that rise; not used with target_learned (ms) */
  feed_effect_ms: f32;
  /** 1: feed_effect_V is only the start and is learned at corners; not used with target_learned (1) */
  feed_effect_learned: f32;
  /** hold when the arc seems to lengthen this fast over crossing_window_ms; 0: not watched (mm/s) */
  crossing_rise_mm_per_s: f32;
  /** time over which that rise is taken (ms) */
  crossing_window_ms: f32;
  /** hold when the arc seems this much longer than wanted; 0: no band is watched (mm) */
  crossing_band_mm: f32;
  /** longest hold for a kerf crossing, in time (ms) */
  crossing_ms: f32;
  /** longest hold for a kerf crossing, in path (mm) */
  crossing_path_mm: f32;
  /** in a hold, when the arc seems shorter than wanted by more than this, Z may always rise (mm) */
  up_band_mm: f32;
  /** follow may go this far below the touched height, plus slope_limit × path (mm) */
  floor_allowance_mm: f32;
  /** longest continuous arc (s) */
  arc_longest_s: f32;
  /** Z never goes further than this below the touched sheet (mm) */
  dive_mm: f32;
  /** an error beyond this that grows while Z corrects it, as over a sheet steeper than any, is a fault (mm) */
  wrong_way_mm: f32;
  /** X/Y steps that go on this long after the permit was withdrawn set the latched stop (ms) */
  stray_ms: f32;
  /** an arc that burns this long under a motion permit without X/Y steps is put out (s) */
  standstill_s: f32;
  /** path of a contour for which the hold input may hold; after it the regulator is back at limited speed (mm) */
  external_path_mm: f32;
}
