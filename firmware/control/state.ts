// All that the module remembers, in one region of linear memory at known offsets: a host can copy it out, put it
// back and enumerate it. Integers that decide (modes, timers, debouncers) stand apart from the f32 of the
// regulator. No other memory is written; no mutable global exists.

import { PARAMETER_COUNT } from '../wire/codes.gen';
import { INPUT_BYTES, OUTPUT_BYTES, STROKES_MOST } from '../wire/layout.gen';
import { Derived } from './derived-fields';
import { LAG_BYTES, LAG_COUNT, Lag, Ruler } from './ruler/found';
import { Parameters } from './table.gen';

/** Modes, timers and debouncers. Timers count ticks (1 ms) and stand at 0 while not in use. */
@unmanaged
export class Sequence {
  mode: i32;
  stage: i32;
  hold: i32;
  fault: i32;
  refusal: i32;
  /** Ticks in the present mode and stage. */
  timer: i32;
  owned: i32;
  trigger: i32;
  permit: i32;
  latched_stop: i32;
  /** Z has been at the top switch since power-up and has not been lost since. */
  homed: i32;
  /** How long the key has been off without a break since power-up or the last fault. */
  key_off_ms: i32;
  armed: i32;
  /** The request has been taken back since the last cut or fault. */
  request_was_off: i32;
  request_off_ms: i32;
  /** A touch-off has been completed for the coming strike. */
  touched_off: i32;
  /** Strikes so far in this contour. */
  strikes: i32;
  /** The motion permit has been given in this contour. */
  permit_was_given: i32;
  reset_before: i32;

  // Debouncers of the switches
  touch: i32;
  touch_count: i32;
  breakaway: i32;
  breakaway_count: i32;
  top: i32;
  top_count: i32;
  external: i32;
  external_count: i32;

  // Arc
  arc_ok: i32;
  arc_count: i32;
  /** Since the trigger went on the voltage has answered to strokes of the torch, and has not left the arc window since. */
  proved: i32;
  /** What the strokes say; see `proof.ts`. */
  verdict: i32;
  /** Since the trigger went on, ticks, up to the last in which a proof may begin again. */
  fired_ms: i32;
  /** Since the trigger went on there has been any voltage at all. */
  voltage_seen: i32;

  // Timers of the checks
  trigger_off_ms: i32;
  at_rest_ms: i32;
  /** The firing contact has been closed against the trigger for so long. */
  relay_ms: i32;
  arc_ms: i32;
  standstill_ms: i32;
  stray_ms: i32;
  reversed_ms: i32;
  saturated_ms: i32;
  stuck_readings: i32;
  last_reading: i32;
  /** The touch-off switch has been closed for so long, from lift to hold. */
  contact_ms: i32;
  /** Ticks with X or Y steps before the motion permit, since the table stood. */
  early_ms: i32;

  // Converter: debounce of its reference
  reference_count: i32;
  converter_dead: i32;

  // Hold
  /** For so long Z has corrected an error that is beyond wrong_way_mm. */
  wrong_ms: i32;
  /** For so long a crossing has held, or in settle a voltage that no arc rises to. */
  crossing_ms: i32;
  crossing_back_ms: i32;
  limited_ms: i32;
  steady_ms: i32;
  target_kept: i32;

  // Axis, in steps since the box took Z over; up is positive
  z: i32;
  /** Z at which the torch tip touches the sheet. */
  z_touched: i32;
  z_contact: i32;
  z_steps: i32;
  limits: i32;
}

/** The f32 side: regulator, feed, slope. */
@unmanaged
export class Regulator {
  velocity_mm_s: f32;
  /** Commanded travel not yet emitted, in steps. */
  pending: f32;
  /** The standoff error as the voltage tells it, and as it is regulated. */
  seen_mm: f32;
  error_mm: f32;
  error_filtered_mm: f32;
  integral_mm_s: f32;
  measured_before_mm: f32;
  rate_mm_s: f32;
  target_V: f32;
  base_target_V: f32;
  trim_V: f32;
  fault_reading_V: f32;

  // Feed
  x_mm: f32;
  y_mm: f32;
  x_feed_mm_s: f32;
  y_feed_mm_s: f32;
  feed_mm_s: f32;
  feed_slow_mm_s: f32;
  /** The feed, delayed as the voltage is. */
  x_delayed_mm_s: f32;
  y_delayed_mm_s: f32;
  running_mm_s: f32;
  /** 1 − feed/target feed, delayed as the voltage is; and through the lag of the feed effect. */
  slow: f32;
  slowness: f32;
  feed_effect_V: f32;

  // Hold
  hold_path_mm: f32;
  /** How far Z may still go down over the present path. */
  drop_mm: f32;
  /** Path of this contour that the hold input has held for. */
  external_path_mm: f32;
  settle_path_mm: f32;
  /** The voltage with which the torch came to stand at cut height, or what it has fallen to since. */
  standing_V: f32;
  /** The voltage with which it came to stand there, less what is left of the pierce. */
  start_V: f32;
  /** What the target is raised by for what is not known of it. */
  doubt_mm: f32;
  crossing_path_mm: f32;
  crossing_peak_V: f32;
  effect_start_V: f32;
  slowness_start: f32;
  effect_product: f32;
  effect_square: f32;

  // Path since the motion permit, for the floor
  cut_path_mm: f32;
  /** Where the voltage has seen the sheet over the last path, against which a cliff is one. */
  cliff_mm: f32;
  // A small hole: what is left of its longest path (0: this contour is none), and where the torch is from where it touched
  hole_path_mm: f32;
  hole_x_mm: f32;
  hole_y_mm: f32;
  // Wrong-way check
  wrong_start_mm: f32;
  wrong_travel_mm: f32;
  /** Implied sheet, and path, where the check began. */
  wrong_sheet_mm: f32;
  wrong_path_mm: f32;
  /** Where Z and the voltage had the torch some milliseconds ago. */
  against_z_mm: f32;
  against_seen_mm: f32;
  // A dip of the voltage: ticks that Z has waited, or below 0 until it may wait again; and the voltage that ends it
  dip_ms: f32;
  dip_V: f32;

  // Slope: sums of a forgetting fit of z = a·x + b·y
  slope_x: f32;
  slope_y: f32;
  xx: f32;
  xy: f32;
  yy: f32;
  xz: f32;
  yz: f32;
  step_x_mm: f32;
  step_y_mm: f32;
  /** The sheet as seen, and where the present stride began. */
  sheet_mm: f32;
  stride_start_mm: f32;

  /** What the voltage answered to the strokes of the last strike; 0: not yet known. */
  proof_slope_V_per_mm: f32;
}

/** Readings within the mean, and what the spike rejection knows. */
@unmanaged
export class Filter {
  /** Next place in the ring. */
  head: i32;
  sum: i32;
  rejected: i32;
  believe: i32;
  spiked: i32;
  saturated: i32;
  mean_V: f32;
  tick_V: f32;
  /** What the mean is against rest_V and the arc window; see `arc.ts`. */
  level: i32;
  /** Place in the history of the mean. */
  past: i32;
  /** What the leads pick up of the mains, as it stands in the mean; the same a quarter of a period later; what stands beside it. */
  pickup_V: f32;
  pickup_quarter_V: f32;
  steady_V: f32;
}

/** Columns of the fit: constant, time, two exponentials, Z; behind them the voltage. */
export const COLUMNS = 5;
/** Sums of a stroke: of Z about its middle with each column, and with the voltage. */
export const STROKE_SUMS = 6;

/** The proof of the arc under way: sums of a least-squares fit of the voltage on Z. */
@unmanaged
export class Proof {
  /** Ticks since the last sample. */
  wait: i32;
  /** Columns of the last sample that are not worked in yet. */
  left: i32;
  samples: i32;
  /** Strokes that are whole in the sums. */
  strokes: i32;
  /** The stroke under way began with or after the sums. */
  whole: i32;
  /** The sums began where the voltage jumped. */
  jumped: i32;
  /** Dwell at the end of the first stroke. */
  first_ticks: i32;
  /** Z that belongs to the next sample, steps above pierce height. */
  z_steps: i32;
  time_s: f32;
  fast: f32;
  slow: f32;
  /** The last samples. */
  last_V: f32;
  last_but_one_V: f32;
  /** Weight that is left of the sample that is worked in. */
  weight: f32;
  /** Sum of squares of what the fit leaves, V². */
  rest_V2: f32;
}

export const RING_READINGS = 128;
export const HISTORY_TICKS = 16;

const SEQUENCE_AT = 160;
const REGULATOR_AT = SEQUENCE_AT + 256;
const FILTER_AT = REGULATOR_AT + 256;
const PROOF_AT = FILTER_AT + 64;
const RING_AT = PROOF_AT + 384;
const HISTORY_AT = RING_AT + RING_READINGS * 2;
const RAW_AT = HISTORY_AT + HISTORY_TICKS * 4;
const RULER_AT = RAW_AT + RING_READINGS * 2;
const Z_RING_AT = RULER_AT + 256;
const HALF_SUMS_AT = Z_RING_AT + HISTORY_TICKS * 4;
const BANK_AT = HALF_SUMS_AT + 64;
const PARAMETERS_AT = BANK_AT + LAG_COUNT * <i32>LAG_BYTES;
const DERIVED_AT = PARAMETERS_AT + PARAMETER_COUNT * 4;
const END = DERIVED_AT + 320;

const BASE = memory.data(END, 16);

export const INPUT: usize = BASE;
export const OUTPUT: usize = BASE + 64;
export const RING: usize = BASE + RING_AT;
export const HISTORY: usize = BASE + HISTORY_AT;
/** The readings as they came, at the places of the ring: what the rejection compares with. */
export const RAW: usize = BASE + RAW_AT;
export const Z_RING: usize = BASE + Z_RING_AT;
export const HALF_SUMS: usize = BASE + HALF_SUMS_AT;
export const BANK: usize = BASE + BANK_AT;
export const PARAMETERS: usize = BASE + PARAMETERS_AT;
/** The state proper: from the sequence to the bank of lags. */
export const STATE: usize = BASE + SEQUENCE_AT;
export const STATE_BYTES: usize = PARAMETERS_AT - SEQUENCE_AT;

export const S = changetype<Sequence>(BASE + SEQUENCE_AT);
export const R = changetype<Regulator>(BASE + REGULATOR_AT);
export const F = changetype<Filter>(BASE + FILTER_AT);
export const Q = changetype<Proof>(BASE + PROOF_AT);
/** Behind the fields: the sample under way, the rows of the fit, the sums of each stroke. */
export const SAMPLE: usize = BASE + PROOF_AT + 64;
export const ROWS: usize = SAMPLE + 4 * (COLUMNS + 1);
export const STROKES: usize = ROWS + 4 * COLUMNS * (COLUMNS + 1);
export const PROOF_BYTES: usize = RING_AT - PROOF_AT;
export const L = changetype<Ruler>(BASE + RULER_AT);
export const P = changetype<Parameters>(BASE + PARAMETERS_AT);
export const D = changetype<Derived>(BASE + DERIVED_AT);

// A block that outgrows its place stops the build.
if (offsetof<Sequence>() > 256) ERROR('Sequence is larger than its place');
if (offsetof<Regulator>() > 256) ERROR('Regulator is larger than its place');
if (offsetof<Proof>() > 64) ERROR('Proof is larger than its place');
if (STROKES + 4 * STROKE_SUMS * STROKES_MOST > BASE + RING_AT)
  ERROR('the sums of the proof are larger than their place');
if (offsetof<Filter>() > 64) ERROR('Filter is larger than its place');
if (offsetof<Ruler>() > 256) ERROR('Ruler is larger than its place');
if (offsetof<Lag>() != LAG_BYTES) ERROR('Lag is not as large as its place');
if (offsetof<Derived>() > 320) ERROR('Derived is larger than its place');
if (INPUT_BYTES > 64) ERROR('the input block is larger than its place');
if (OUTPUT_BYTES > 96) ERROR('the output block is larger than its place');
