// Generated from the rows by `npm run generate`. Do not edit.

/** What host and module must agree on; another number is another build. */
export const LAYOUT: i32 = -791641301;
export const CELLS_END: usize = 74304;

/** Where the table is at the end of the tick, and how it goes there. */
@unmanaged
export class Place {
  /** position of the torch; mm */
  x_mm: f64;
  /** position of the torch; mm */
  y_mm: f64;
  /** feed along the path; mm/s */
  feed_mm_s: f64;
  /** length of the path since the start of the run, never falling; mm */
  path_mm: f64;
  /** unit vector of the motion; 0 at rest */
  direction_x: f64;
  /** unit vector of the motion; 0 at rest */
  direction_y: f64;
  /** X or Y has changed in this tick; 0/1 */
  moved: i32;
  /** a tick has gone by: the first place is no motion; 0/1 */
  placed: i32;
}
export const place: Place = changetype<Place>(<usize>65536);

/** The Z axis: a step motor that follows only what it can, play, stops, the top switch. */
@unmanaged
export class Axis {
  /** motor, in mm of carriage; mm */
  motor_mm: f64;
  /** carriage, as the height of a tip that hangs free; mm */
  carriage_mm: f64;
  /** travel of a step; mm */
  mm_per_step: f64;
  /** steps a tick that the motor can make; steps */
  most_steps: f64;
  /** change of them that it can follow from one tick to the next; steps */
  jump_steps: f64;
  /** half of the play; mm */
  half_backlash_mm: f64;
  /** height at which the top switch closes; mm */
  top_mm: f64;
  /** upper end of the travel; mm */
  stop_above_mm: f64;
  /** lower end of the travel; mm */
  stop_below_mm: f64;
  /** sinking of an axis without power, a tick; mm */
  fall_mm: f64;
  /** part of a step that a fault has taken so far; steps */
  lost_part: f64;
  /** share of the steps that a fault takes */
  lost_share: f64;
  /** the carriage stands at or above the top switch; 0/1 */
  top: i32;
  /** steps a tick that the motor makes now; steps */
  speed: i32;
  /** steps that the motor did not make as commanded; steps */
  lost_steps: i32;
  /** steps that arrived while the box did not own Z; steps */
  ignored_steps: i32;
  /** fault: the direction line is inverted; 0/1 */
  reversed: i32;
  /** fault: no power at the motor; 0/1 */
  unpowered: i32;
}
export const axis: Axis = changetype<Axis>(<usize>65592);

/** The surface of the sheet, and how heat raises it. */
@unmanaged
export class Plate {
  /** undeflected surface under the torch; beyond an edge, of the sheet continued; mm */
  surface_mm: f64;
  /** that surface without its vibration; mm */
  still_mm: f64;
  /** vibration of the sheet now; mm */
  vibration: f64;
  /** the value before it; mm */
  vibration_before: f64;
  /** twice the cosine of its step; 0: the sheet lies still */
  vibration_twice_cosine: f64;
  /** distance past the edge of the sheet; mm */
  beyond_mm: f64;
  /** height of the bumps, depth of the dents; 0: none; mm */
  bump_mm: f64;
  /** their radius; mm */
  bump_radius_mm: f64;
  /** side of the square that each has to itself; mm */
  bump_pitch_mm: f64;
  /** where these squares begin; mm */
  bump_x_mm: f64;
  /** where these squares begin; mm */
  bump_y_mm: f64;
  /** what they add at the last place that was looked at; mm */
  bumped_mm: f64;
  /** its slope along X */
  bump_slope_x: f64;
  /** its slope along Y */
  bump_slope_y: f64;
  /** height to which the melt of a pierce heaps up; 0: none; mm */
  puddle_mm: f64;
  /** where the last pierce was; mm */
  puddle_x_mm: f64;
  /** where the last pierce was; mm */
  puddle_y_mm: f64;
  /** height of its heap now; mm */
  heaped_mm: f64;
  /** size of the sheet along X; mm */
  width_mm: f64;
  /** size of the sheet along Y; mm */
  height_mm: f64;
  /** rise of the sheet under the burning arc, a tick; mm */
  growth_mm: f64;
  /** slope along X */
  tilt_x: f64;
  /** slope along Y */
  tilt_y: f64;
  /** height of the middle above the ends along X; mm */
  bow_mm: f64;
  /** amplitude of the waviness; mm */
  wave_mm: f64;
  /** waves along X; 1/mm */
  wave_x: f64;
  /** waves along Y; 1/mm */
  wave_y: f64;
  /** phase of the wave at the origin; turns */
  wave_phase: f64;
  /** least X of the offcut; mm */
  offcut_x_mm: f64;
  /** least Y of the offcut; mm */
  offcut_y_mm: f64;
  /** side of the offcut; mm */
  offcut_size_mm: f64;
  /** height of its raised edge; 0: none; mm */
  offcut_height_mm: f64;
  /** point of the tangent plane that stands for the surface; none at the start; mm */
  tangent_x_mm: f64;
  /** point of the tangent plane; mm */
  tangent_y_mm: f64;
  /** height of the surface there; mm */
  tangent_mm: f64;
  /** slope along X there */
  tangent_slope_x: f64;
  /** slope along Y there */
  tangent_slope_y: f64;
  /** square of the distance up to which the plane stands for the surface; mm² */
  tangent_square: f64;
  /** width of a cell of the grid of growth; mm */
  cell_mm: f64;
  /** growth at the last place that was looked at; mm */
  heat_mm: f64;
  /** its slope along X */
  heat_slope_x: f64;
  /** its slope along Y */
  heat_slope_y: f64;
  /** nodes of the grid of growth along X */
  columns: i32;
  /** nodes of the grid of growth along Y */
  rows: i32;
  /** place of its nodes, f64 each, row by row; bytes */
  nodes_at: i32;
  /** arc time on the spot that is not in the grid yet; ticks */
  growth_ticks: i32;
  /** there is no sheet at this place; 0/1 */
  off_sheet: i32;
}
export const plate: Plate = changetype<Plate>(<usize>65712);

/** The floating head with its touch-off switch, in a breakaway holder, over a springy sheet. */
@unmanaged
export class Head {
  /** height of the tip; mm */
  torch_mm: f64;
  /** height of the true surface, pressed down where the tip rests; mm */
  plate_mm: f64;
  /** their distance; never negative; mm */
  standoff_mm: f64;
  /** lift at which the switch closes; mm */
  float_travel_mm: f64;
  /** lift at which the head meets its stop; mm */
  float_max_mm: f64;
  /** depth of a sideways collision that knocks the head out; mm */
  breakaway_mm: f64;
  /** give of the sheet under the head half-way between two slats; mm */
  compliance_mm: f64;
  /** slats a mm; 1/mm */
  per_pitch: f64;
  /** thickness of the sheet; mm */
  thickness_mm: f64;
  /** square of the arm’s angle a tick; 0: it is stiff */
  arm_spring: f64;
  /** share of its speed that a tick takes */
  arm_damping: f64;
  /** carriage at the end of the tick before; mm */
  carriage_before_mm: f64;
  /** its travel in the tick before; mm */
  carriage_speed: f64;
  /** tip against carriage, as the arm swings; mm */
  swing_mm: f64;
  /** change of that in a tick; mm */
  swing_speed: f64;
  /** time for which the switch chatters; ms */
  bounce_ms: i32;
  /** the head is in its holder; 0/1 */
  in_holder: i32;
  /** the tip rests on something; 0/1 */
  touching: i32;
  /** the touch-off switch is closed; 0/1 */
  touch: i32;
  /** state of the switch without its chatter; 0/1 */
  pressed: i32;
  /** chatter that is left; ms */
  bounce_left: i32;
  /** fault: the switch never closes; 0/1 */
  never_closes: i32;
  /** fault: the switch keeps one state; 0/1 */
  stuck: i32;
  /** that state; 0/1 */
  stuck_state: i32;
}
export const head: Head = changetype<Head>(<usize>66072);

/** From the trigger output to the supply: the relay, the torch’s own trigger, a latch in the supply. */
@unmanaged
export class Firing {
  /** time in which the relay closes; ms */
  close_ms: i32;
  /** time in which it opens; ms */
  release_ms: i32;
  /** the supply’s trigger latches; 0/1 */
  latching: i32;
  /** the firing contact is closed; 0/1 */
  relay: i32;
  /** the supply is asked to burn; 0/1 */
  call: i32;
  /** time that the relay has been moving; ms */
  waited_ms: i32;
  /** state of the trigger in the tick before; 0/1 */
  pulled: i32;
  /** fault: the contact stays closed once it has closed; 0/1 */
  welded: i32;
  /** fault: the supply goes on after the release; 0/1 */
  latched: i32;
  /** fault: someone pulls the torch’s trigger; 0/1 */
  hand: i32;
}
export const firing: Firing = changetype<Firing>(<usize>66232);

/** The metal that this run has removed, as a sparse map of cells. */
@unmanaged
export class Kerf {
  /** share of missing metal ahead of the torch */
  ahead: f64;
  /** the part of it that this run removed */
  removed: f64;
  /** depth to which a part sinks when it is cut free; 0: it stays; mm */
  drop_mm: f64;
  /** how far it has sunk; mm */
  dropped_mm: f64;
  /** path at which the arc last burnt in whole metal; mm */
  whole_path_mm: f64;
  /** kerf width at nominal feed; mm */
  kerf_mm: f64;
  /** relative growth of the kerf as the feed drops to nothing */
  slow_growth: f64;
  /** inverse of the nominal feed; s/mm */
  per_nominal: f64;
  /** where the map was last brought up to date; none at the start; mm */
  last_x_mm: f64;
  /** where the map was last brought up to date; mm */
  last_y_mm: f64;
  /** direction of the motion there */
  last_direction_x: f64;
  /** direction of the motion there */
  last_direction_y: f64;
  /** cells along X */
  cells_wide: i32;
  /** cells along Y */
  cells_high: i32;
  /** tiles of 32 by 32 cells along X */
  tiles_wide: i32;
  /** place of the tiles’ numbers, i32 each, row by row; 0: untouched; bytes */
  tile_of_at: i32;
  /** place of the tiles, a bit a cell, 32 words each; bytes */
  pool_at: i32;
  /** tiles in use; number 0 is the untouched one */
  tiles: i32;
  /** the arc burnt when the map was last brought up to date; 0/1 */
  last_burning: i32;
  /** oldest fresh cut in the ring */
  ring_first: i32;
  /** fresh cuts in the ring */
  ring_count: i32;
}
export const kerf: Kerf = changetype<Kerf>(<usize>66272);

/** The arc on a constant-current supply. */
@unmanaged
export class Arc {
  /** share of missing metal as the arc feels it */
  missing: f64;
  /** arc voltage at the beginning of the tick; V */
  before_V: f64;
  /** arc voltage at the end of the tick; V */
  true_V: f64;
  /** rise of the voltage by feed; V */
  feed_V: f64;
  /** what is left of the pierce’s excess */
  excess: f64;
  /** arc length; mm */
  length_mm: f64;
  /** voltage at the cut standoff; V */
  cut_V: f64;
  /** cut standoff; mm */
  cut_mm: f64;
  /** rise with arc length; V/mm */
  slope: f64;
  /** its inverse; mm/V */
  per_slope: f64;
  /** arc length from which the voltage rises less; mm */
  roll_from_mm: f64;
  /** inverse of the scale of that roll-off; 1/mm */
  per_roll: f64;
  /** inverse of the nominal feed; s/mm */
  per_nominal: f64;
  /** rise as the feed drops to nothing; V */
  feed_effect_V: f64;
  /** lag of the feed effect, a tick */
  feed_share: f64;
  /** rise over metal that is wholly missing; V */
  crossing_V: f64;
  /** lag with which the arc meets a change of metal, a tick */
  front_share: f64;
  /** arc length beyond which the arc goes out; mm */
  reach_mm: f64;
  /** time it takes to go out there; ms */
  reach_ms: f64;
  /** excess of the voltage at transfer; V */
  excess_V: f64;
  /** share of it that a tick leaves */
  excess_keep: f64;
  /** rms of the spatter noise at transfer; V */
  spatter_V: f64;
  /** rise by what the electrode had been used before; V */
  used_V: f64;
  /** rise by wear of the electrode, a start; V */
  wear_V_per_start: f64;
  /** rise by wear of the electrode, a ms of arc; V/ms */
  wear_V_per_ms: f64;
  /** no-load voltage; V */
  no_load_V: f64;
  /** time at no load before the pilot arc; ms */
  no_load_ms: f64;
  /** time after which the electrode has left the nozzle and the pilot arc burns; ms */
  contact_end_ms: f64;
  /** pilot voltage; V */
  pilot_V: f64;
  /** height of its jumps; V */
  pilot_jump_V: f64;
  /** chance of one in a tick */
  pilot_jump_chance: f64;
  /** share of its wander that a tick leaves */
  pilot_wander_keep: f64;
  /** wander that a tick adds; V */
  pilot_wander_gain: f64;
  /** time after transfer for which it is still what is read; ms */
  pilot_persists_ms: f64;
  /** its wander now; V */
  pilot_wander_V: f64;
  /** what its jumps have left; V */
  pilot_jumped_V: f64;
  /** least time from the call to transfer; ms */
  strike_ms: f64;
  /** standoff up to which the arc transfers; mm */
  transfer_mm: f64;
  /** chance that a strike fails */
  fail_chance: f64;
  /** time that the arc burns on after the call; ms */
  off_ms: f64;
  /** share of the voltage that a tick leaves when it is out */
  fall_keep: f64;
  /** lag with which the supply’s voltage follows the arc, a tick; 1: none */
  source_share: f64;
  /** height of a jump of the voltage, of either sign; V */
  jump_V: f64;
  /** mean wait for one; ms */
  jump_mean_ms: f64;
  /** wait for the next one; ms */
  jump_wait_ms: f64;
  /** length of a jump; ms */
  jump_ms: f64;
  /** what is left of the present one; ms */
  jump_left_ms: f64;
  /** what it adds; V */
  jumped_V: f64;
  /** drop of the voltage by a double arc; V */
  double_V: f64;
  /** mean wait for one; ms */
  double_mean_ms: f64;
  /** wait for the next one; ms */
  double_wait_ms: f64;
  /** length of a double arc; ms */
  double_ms: f64;
  /** what is left of the present one; ms */
  double_left_ms: f64;
  /** fault: what the voltage of the new ones differs by; V */
  renewed_V: f64;
  /** the supply strikes again by itself; 0/1 */
  restrikes: i32;
  /** the supply may strike; 0/1 */
  ready: i32;
  /** out, no load, pilot, burning: 0 to 3 */
  state: i32;
  /** the arc burns on the work; 0/1 */
  burning: i32;
  /** it meets metal that this run removed; 0/1 */
  crossing: i32;
  /** arcs transferred to the work */
  starts: i32;
  /** time that they burnt; ms */
  on_ms: i32;
  /** time since the strike began; ms */
  since_ms: i32;
  /** time that the arc has burnt without a call; ms */
  off_wait_ms: i32;
  /** time that it has been longer than its reach; ms */
  stretched_ms: i32;
  /** time since the transfer; ms */
  burnt_ms: i32;
  /** this strike will fail; 0/1 */
  fails: i32;
  /** fault: the supply stays at no load; 0/1 */
  never_starts: i32;
  /** fault: the arc goes out; 0/1 */
  goes_out: i32;
  /** fault: new consumables were put in while no arc burnt; 0/1 */
  renewed: i32;
  /** fault: new consumables wait for the arc to go out; 0/1 */
  to_renew: i32;
}
export const arc: Arc = changetype<Arc>(<usize>66408);

/** What disturbs the arc voltage, as far as it changes from tick to tick. */
@unmanaged
export class Noise {
  /** slow noise at the beginning of the tick; V */
  slow_before_V: f64;
  /** slow noise at the end of the tick; V */
  slow_V: f64;
  /** share of it that a tick leaves */
  coloured_keep: f64;
  /** noise that a tick adds; V */
  coloured_gain: f64;
  /** wait for the next impulse; ticks */
  wait_ticks: f64;
  /** mean of that wait; ticks */
  mean_wait_ticks: f64;
  /** height of an impulse; V */
  impulse_height_V: f64;
  /** its length; readings */
  impulse_readings: f64;
  /** last value of the rectifier’s ripple; V */
  rectifier: f64;
  /** the value before it; V */
  rectifier_before: f64;
  /** twice the cosine of its step */
  rectifier_twice_cosine: f64;
  /** last value of the inverter’s ripple; V */
  inverter: f64;
  /** the value before it; V */
  inverter_before: f64;
  /** twice the cosine of its step */
  inverter_twice_cosine: f64;
  /** last value of the mains voltage that the leads pick up; V */
  pickup: f64;
  /** the value before it; V */
  pickup_before: f64;
  /** twice the cosine of its step; 0: none */
  pickup_twice_cosine: f64;
  /** an impulse falls into this tick; 0/1 */
  impulsive: i32;
}
export const noise: Noise = changetype<Noise>(<usize>66904);

/** From the arc’s voltage to the converter’s readings. */
@unmanaged
export class Sensing {
  /** what an ideal converter behind the filter would report; V */
  sensed_V: f64;
  /** voltage at the tap; V */
  tap_V: f64;
  /** voltage behind the isolation stage; V */
  isolated_V: f64;
  /** volts at the tap for one at the arc */
  tap_per_V: f64;
  /** white noise for a step of three bytes; V */
  white: f64;
  /** lag of the tap’s filter, a reading */
  share: f64;
  /** lag of the isolation stage with its gain, a reading */
  isolation_share: f64;
  /** what a reading leaves of its state */
  isolation_keep: f64;
  /** its offset, a reading; V */
  isolation_add: f64;
  /** gain of the converter */
  counts_per_V: f64;
  /** its zero, with one half so that cutting off the fraction rounds; counts */
  zero: f64;
  /** its noise for a step of one byte; counts */
  converter_noise: f64;
  /** its highest code; counts */
  most: f64;
  /** ratio of the divider */
  ratio: f64;
  /** gain from the inverter’s ripple to the counts; counts */
  inverter: f64;
  /** drift of the zero, a tick; counts */
  zero_drift: f64;
  /** relative drift of the gain, a tick */
  gain_drift: f64;
  /** what the zero has drifted by; counts */
  drifted_zero: f64;
  /** what the gain has drifted by */
  drifted_gain: f64;
  /** half the width of the converter’s four wide codes; 0: none; counts */
  wide_half: f64;
  /** fault: chance that a lead opens in a tick */
  interruption_chance: f64;
  /** the leads are closed; 0/1 */
  lead: i32;
  /** fault: the one code that the converter repeats; -1: none; counts */
  forced_code: i32;
}
export const sensing: Sensing = changetype<Sensing>(<usize>67048);

/** The supply’s own arc-OK contact. */
@unmanaged
export class Supply {
  /** delay of the contact; ms */
  contact_delay_ms: i32;
  /** the contact is closed; 0/1 */
  contact: i32;
  /** time for which it should have changed; ms */
  contact_wait_ms: i32;
  /** fault: it never closes; 0/1 */
  contact_missing: i32;
}
export const supply: Supply = changetype<Supply>(<usize>67224);

/** What the box gets of the world beside the readings, as the last tick left it. */
@unmanaged
export class Wires {
  /** the top switch is closed; 0/1 */
  top: i32;
  /** the head is in its holder; 0/1 */
  breakaway: i32;
  /** what the converter reads of the board’s own reference; counts */
  reference: i32;
  /** what it reads from the next tick on; a fault changes it; counts */
  reference_counts: i32;
  /** the tap of the X step line works; 0/1 */
  x_tap: i32;
  /** the tap of the Y step line works; 0/1 */
  y_tap: i32;
  /** the touch-off switch is closed; 0/1 */
  touch: i32;
  /** the supply’s own arc-OK contact is closed; 0/1 */
  contact: i32;
  /** what the readback of the firing contact says; 0/1 */
  readback: i32;
  /** the box’s ticks come late; 0/1 */
  late: i32;
  /** fault: that tap is dead; 0/1 */
  dead_x_tap: i32;
  /** fault: that tap is dead; 0/1 */
  dead_y_tap: i32;
  /** fault: the readback keeps one state; 0/1 */
  stuck_readback: i32;
  /** that state; 0/1 */
  stuck_readback_state: i32;
  /** fault: ticks come late; 0/1 */
  late_tick: i32;
  /** episodes in which tip and work met while it counts */
  contacts: i32;
  /** such an episode is under way; 0/1 */
  in_contact: i32;
}
export const wires: Wires = changetype<Wires>(<usize>67240);

/** The table at work. */
@unmanaged
export class Table {
  /** where the torch is; mm */
  x_mm: f64;
  /** where the torch is; mm */
  y_mm: f64;
  /** speed along the path at the end of the tick; mm/s */
  feed_mm_s: f64;
  /** its direction; the last one while at rest */
  dx: f64;
  /** its direction; the last one while at rest */
  dy: f64;
  /** path travelled with the torch requested; mm */
  path_mm: f64;
  /** path since or to the nearest corner of this contour; infinite when there is none; mm */
  corner_mm: f64;
  /** path at the next corner; mm */
  next_corner_mm: f64;
  /** path at the last corner; mm */
  last_corner_mm: f64;
  /** steps of either axis; 1/mm */
  steps_per_mm: f64;
  /** acceleration of the plan; mm/s² */
  acceleration_mm_s2: f64;
  /** braking of the plan; mm/s² */
  braking_mm_s2: f64;
  /** wait for the permit after which the program stops; ticks */
  longest_wait_ticks: f64;
  /** time in the step under way; s */
  step_s: f64;
  /** time of the plan at which a stop began; s */
  stopped_at_s: f64;
  /** steps of this tick; their sum is the position, rounded; steps */
  x_steps: f64;
  /** steps of this tick; steps */
  y_steps: f64;
  /** position, rounded; steps */
  x_count: f64;
  /** position, rounded; steps */
  y_count: f64;
  /** counts the times that the torch was requested, from 0; -1 before the first */
  contour: i32;
  /** the permit is looked at during a contour, not at its start only; 0/1 */
  watched: i32;
  /** corners of the plan */
  corners: i32;
  /** place of their paths, f64 each; bytes */
  corner_path_at: i32;
  /** place of their contours, i32 each; bytes */
  corner_contour_at: i32;
  /** place of the plan’s steps; bytes */
  steps_at: i32;
  /** the table asks for the torch; 0/1 */
  torch_request: i32;
  /** line of the program */
  line: i32;
  /** running, dwelling, waiting, braking, stopped, finished: 0 to 5 */
  state: i32;
  /** none, permit not given, permit withdrawn, latched stop: 0 to 3 */
  stop_reason: i32;
  /** the first motion of the contour waits; 0/1 */
  awaiting_permit: i32;
  /** the permit was given in this contour; 0/1 */
  permit_given: i32;
  /** wait for the permit so far; ticks */
  waited_ticks: i32;
  /** number of the next corner */
  next_corner: i32;
}
export const table: Table = changetype<Table>(<usize>67312);

/** The step of the plan that is under way. */
@unmanaged
export class Move {
  /** time that it takes; s */
  duration_s: f64;
  /** time of the plan at its start; s */
  start_s: f64;
  /** path with the torch requested at its start; mm */
  start_path_mm: f64;
  /** speed that the program asks for: the feed, or the rapid speed; mm/s */
  programmed_mm_s: f64;
  /** its length; mm */
  length_mm: f64;
  /** distance from its start; mm */
  travelled_mm: f64;
  /** speed there; mm/s */
  speed_mm_s: f64;
  /** place there; mm */
  x_mm: f64;
  /** place there; mm */
  y_mm: f64;
  /** direction there */
  dx: f64;
  /** direction there */
  dy: f64;
  /** speed at its start; mm/s */
  entry_mm_s: f64;
  /** speed in its middle; mm/s */
  peak_mm_s: f64;
  /** speed at its end; mm/s */
  exit_mm_s: f64;
  /** time of acceleration; s */
  accelerate_s: f64;
  /** time at which it begins to brake; s */
  cruise_end_s: f64;
  /** distance of acceleration; mm */
  accelerate_mm: f64;
  /** its start; mm */
  start_x_mm: f64;
  /** its start; mm */
  start_y_mm: f64;
  /** direction at its start */
  start_dx: f64;
  /** direction at its start */
  start_dy: f64;
  /** arcs: 1 counter-clockwise, -1 clockwise; 0 for straight moves */
  turn: f64;
  /** centre of an arc; mm */
  centre_x_mm: f64;
  /** centre of an arc; mm */
  centre_y_mm: f64;
  /** its radius at the start; mm */
  radius_mm: f64;
  /** change of the radius, a mm of path */
  radius_change: f64;
  /** its sweep, a mm of path; rad/mm */
  sweep_rad_per_mm: f64;
  /** of the angle turned so far */
  cosine: f64;
  /** of the angle turned so far */
  sine: f64;
  /** number of the step */
  index: i32;
  /** what the block does */
  kind: i32;
}
export const move: Move = changetype<Move>(<usize>67520);

/** What joins the world, the table and the controller. */
@unmanaged
export class Loop {
  /** length after which the run is broken off; ticks */
  limit_ticks: f64;
  /** path of the table since the start of the run; mm */
  path_mm: f64;
  /** place of the controller’s input block; bytes */
  input_at: i32;
  /** place of its output block; bytes */
  output_at: i32;
  /** lines that the operator holds; bits */
  operator_inputs: i32;
  /** the request line reaches the box; 0/1 */
  request_through: i32;
  /** ticks of the run; ticks */
  tick: i32;
  /** time since the program was over and the box at rest; ms */
  after_ms: i32;
  /** the run is over; 0/1 */
  finished: i32;
}
export const loop: Loop = changetype<Loop>(<usize>67760);

/** volts that an impulse adds to each reading of the tick; 10 of f64 */
export const IMPULSE_V: usize = 67808;
/** fresh cuts: x, y, half width in x and y, path, disc; 768 of f64 */
export const FRESH_CUTS: usize = 67888;
/** points probed on the leading half circle; 7 of f64 */
export const PROBE_COSINE: usize = 74032;
/** points probed on the leading half circle; 7 of f64 */
export const PROBE_SINE: usize = 74088;
/** noise of the readings; 4 of i32 */
export const READING_RANDOM: usize = 74144;
/** slow noise; 4 of i32 */
export const COLOURED_RANDOM: usize = 74160;
/** impulses; 4 of i32 */
export const IMPULSE_RANDOM: usize = 74176;
/** spatter of the pierce; 4 of i32 */
export const SPATTER_RANDOM: usize = 74192;
/** strikes that fail; 4 of i32 */
export const STRIKE_RANDOM: usize = 74208;
/** jumps and wander of the pilot’s voltage; 4 of i32 */
export const PILOT_RANDOM: usize = 74224;
/** chatter of the touch-off switch; 4 of i32 */
export const BOUNCE_RANDOM: usize = 74240;
/** a contact that opens at times; 4 of i32 */
export const CONTACT_RANDOM: usize = 74256;
/** jumps of the arc voltage; 4 of i32 */
export const JUMP_RANDOM: usize = 74272;
/** double arcs; 4 of i32 */
export const DOUBLE_RANDOM: usize = 74288;

/** A step of the plan. */
@unmanaged
export class Step {
  start_x_mm: f64;
  start_y_mm: f64;
  start_dx: f64;
  start_dy: f64;
  length_mm: f64;
  centre_x_mm: f64;
  centre_y_mm: f64;
  radius_mm: f64;
  radius_change_mm: f64;
  sweep_rad: f64;
  entry_mm_s: f64;
  peak_mm_s: f64;
  exit_mm_s: f64;
  accelerate_s: f64;
  cruise_s: f64;
  duration_s: f64;
  start_s: f64;
  start_path_mm: f64;
  programmed_mm_s: f64;
  kind: i32;
  line: i32;
}
export const STEP_BYTES: i32 = 160;
