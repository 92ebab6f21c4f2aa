/**
 * The parameter table: the one place where a parameter is defined. Host validation, the editor schema, the
 * module's own range check, command-line help and the reference page are generated from these rows.
 * An id is never reused; a new row takes the next free one.
 */
export interface ParameterRow {
  /** Place in the module's parameter block and on the wire. */
  readonly id: number;
  /** Textbook word with its unit; what `--set` and the box section of a setup file use. */
  readonly name: ParameterName;
  /** Unit as printed; '1' for a pure number. */
  readonly unit: string;
  readonly min: number;
  readonly max: number;
  readonly default: number;
  /** True where only whole numbers make sense, such as a switch of 0 or 1. */
  readonly integer: boolean;
  /** One sentence for the person at the table. */
  readonly meaning: string;
  /** Package version that first had the row. */
  readonly since: string;
}

type Bare = readonly [string, string, number, number, number, string];

// name, unit, min, max, default, meaning. The id is the position, so rows are only ever appended.
const ROWS = [
  // From reading to volts
  ['reading_gain_mV', 'mV', 10, 500, 96.68, 'arc voltage for one converter count: divider ratio × converter step'],
  [
    'reading_zero_counts',
    'counts',
    0,
    1000,
    124,
    'converter reading with 0 V at the tap; above 0, so that reversed leads are seen',
  ],
  [
    'mains_Hz',
    'Hz',
    45,
    65,
    50,
    'mains frequency; the moving mean spans half its period and so nulls rectifier ripple',
  ],
  [
    'spike_V',
    'V',
    0,
    100,
    15,
    'a reading further than this from the mean is set aside as a spike; 0 turns the rejection off',
  ],
  ['spike_ms', 'ms', 1, 20, 4, 'longest time readings are set aside; a change that lasts longer is believed'],
  ['rest_V', 'V', 5, 60, 25, 'below this the arc voltage counts as near zero'],
  [
    'stuck_ms',
    'ms',
    0,
    1000,
    50,
    'this long without any change of the raw reading during an arc is a stuck reading; 0: not watched',
  ],
  // Arc OK
  ['arc_low_V', 'V', 20, 200, 60, 'lower edge of the arc window'],
  ['arc_high_V', 'V', 60, 400, 190, 'upper edge of the arc window: above target + kerf crossing + feed effect'],
  [
    'transfer_V',
    'V',
    40,
    400,
    136,
    'the arc counts as transferred once the voltage has been above this and fallen below it',
  ],
  ['arc_on_ms', 'ms', 1, 500, 30, 'time inside the arc window before the arc counts as burning'],
  [
    'arc_off_ms',
    'ms',
    1,
    1000,
    100,
    'time outside the arc window before the arc counts as lost: longer than a kerf crossing',
  ],
  ['supply_contact', '1', 0, 1, 0, "1: the supply's own arc contact is wired and must agree"],
  // Touch-off
  ['seek_fast_mm_s', 'mm/s', 1, 50, 12, 'speed of the first approach to the sheet'],
  [
    'seek_slow_mm_s',
    'mm/s',
    0.2,
    10,
    2,
    'speed of the second approach and of the lift whose opening contact is the reference',
  ],
  ['seek_travel_mm', 'mm', 5, 150, 45, 'give up the touch-off after this much downward travel'],
  ['touch_offset_mm', 'mm', -3, 3, 0, 'height of the torch tip above the sheet when the touch-off switch opens'],
  // Pierce and strike
  ['pierce_height_mm', 'mm', 1, 10, 3, 'standoff while piercing'],
  ['pierce_ms', 'ms', 0, 5000, 500, 'pierce delay: time from arc OK until the torch is lowered'],
  ['cut_height_mm', 'mm', 0.5, 6, 1.5, 'standoff while cutting'],
  ['strike_ms', 'ms', 100, 5000, 1500, 'longest wait for an arc after the trigger goes on'],
  [
    'strike_retries',
    '1',
    0,
    5,
    2,
    'further attempts after a strike with no arc, before the motion permit was ever given',
  ],
  ['fall_ms', 'ms', 50, 3000, 500, 'after the trigger goes off the arc voltage must be near zero within this time'],
  // Settle and target
  ['settle_ms', 'ms', 0, 2000, 40, 'wait at cut height before the regulator takes over'],
  [
    'target_learned',
    '1',
    0,
    1,
    0,
    '0: the target is target_V; 1: it is learned at the start of each contour (the host refuses 1)',
  ],
  ['target_V', 'V', 30, 250, 118, 'arc voltage to hold; with target_learned the voltage to expect'],
  ['target_feed_mm_s', 'mm/s', 1, 500, 50, 'feed at which target_V is right'],
  ['learn_ms', 'ms', 20, 2000, 200, 'time over which the target is learned'],
  ['learn_band_V', 'V', 1, 60, 15, 'a learned target further than this from target_V is not taken'],
  ['learn_change_V', 'V', 0.1, 20, 2, 'largest change of the learned target from one contour to the next'],
  ['trim_V', 'V', -10, 10, 0, 'added to the target; the one parameter that may change during a cut, at 2 V/s'],
  // Regulator
  [
    'arc_slope_V_per_mm',
    'V/mm',
    0.5,
    12,
    4,
    'arc voltage for each millimetre of standoff; the gains are divided by it',
  ],
  ['gain_p_per_s', '1/s', 0, 100, 22, 'proportional gain: speed of correction for each millimetre of error'],
  ['gain_i_per_s2', '1/s²', 0, 2000, 160, 'integral gain; gain_p / gain_i is the integral time'],
  ['gain_d', '1', 0, 1, 0, 'derivative gain on the measurement; 0 is off'],
  ['tracking_ms', 'ms', 5, 2000, 100, 'anti-windup: time in which a saturated integrator is led back'],
  ['smoothing_ms', 'ms', 0, 50, 5, 'low-pass on the error before the regulator'],
  ['reversal_um', 'µm', 0, 100, 30, 'Z turns round only after this much of opposite travel is wanted'],
  // Axis
  ['x_steps_per_mm', '1/mm', 1, 5000, 160, 'steps of the X axis for a millimetre'],
  ['y_steps_per_mm', '1/mm', 1, 5000, 160, 'steps of the Y axis for a millimetre'],
  ['z_steps_per_mm', '1/mm', 10, 5000, 400, 'steps of the Z axis for a millimetre'],
  ['z_velocity_mm_s', 'mm/s', 1, 150, 40, 'highest speed of Z'],
  ['z_acceleration_mm_s2', 'mm/s²', 50, 10000, 1500, 'highest acceleration of Z'],
  ['follow_down_mm_s', 'mm/s', 0.5, 50, 10, 'highest downward speed while the regulator owns Z'],
  ['travel_mm', 'mm', 5, 200, 60, 'Z never goes further than this below where the box took it over'],
  // Feed and lockouts
  ['feed_filter_ms', 'ms', 1, 200, 12, 'low-pass on the feed taken from the X and Y steps'],
  ['hold_carried', '1', 0, 1, 1, "in a hold, 1: Z is carried along the sheet's estimated slope; 0: Z is frozen"],
  ['slope_path_mm', 'mm', 2, 100, 10, 'path over which the slope estimate forgets'],
  ['slope_limit', '1', 0, 0.5, 0.12, 'steepest sheet that is believed, in mm of height for each mm of path'],
  [
    'corner_fraction',
    '1',
    0,
    0.99,
    0.9,
    "hold when the feed falls under this fraction of the cut's running feed; 0: no corner lockout",
  ],
  ['corner_path_mm', 'mm', 0.5, 50, 10, 'longest corner hold, in path'],
  [
    'feed_effect_V',
    'V',
    0,
    40,
    8,
    'rise of the arc voltage from running feed to standstill at constant standoff; 0: no allowance',
  ],
  ['feed_effect_ms', 'ms', 1, 500, 50, 'time constant of that rise'],
  ['feed_effect_learned', '1', 0, 1, 1, '1: feed_effect_V is only the start and is learned at corners'],
  [
    'crossing_rise_mm_per_s',
    'mm/s',
    0,
    1000,
    90,
    'hold when the arc seems to lengthen this fast over crossing_window_ms; 0: not watched',
  ],
  ['crossing_window_ms', 'ms', 2, 15, 8, 'time over which that rise is taken'],
  ['crossing_band_mm', 'mm', 0, 20, 3, 'hold when the arc seems this much longer than wanted; 0: no band is watched'],
  ['crossing_ms', 'ms', 10, 2000, 400, 'longest hold for a kerf crossing, in time'],
  ['crossing_path_mm', 'mm', 0.5, 50, 10, 'longest hold for a kerf crossing, in path'],
  [
    'up_band_mm',
    'mm',
    0.2,
    10,
    1.5,
    'in a hold, when the arc seems shorter than wanted by more than this, Z may always rise',
  ],
  ['floor_allowance_mm', 'mm', 0, 5, 0.7, 'follow may go this far below the touched height, plus slope_limit × path'],
  // Guard
  ['arc_longest_s', 's', 1, 3600, 600, 'longest continuous arc'],
  ['dive_mm', 'mm', 1, 50, 15, 'Z never goes further than this below the touched sheet'],
  ['wrong_way_mm', 'mm', 0.2, 5, 0.5, 'error that grows by this much while Z moves against it is a fault'],
  [
    'stray_ms',
    'ms',
    50,
    10000,
    800,
    'X/Y steps that go on this long after the permit was withdrawn open the latched stop',
  ],
  ['standstill_s', 's', 1, 60, 5, 'an arc that burns this long under a motion permit without X/Y steps is put out'],
] as const satisfies readonly Bare[];

export type ParameterName = (typeof ROWS)[number][0];
/** Some parameters or all of them by name, in the units of their rows. */
export type ParameterValues = Readonly<Partial<Record<ParameterName, number>>>;

const WHOLE = ['supply_contact', 'strike_retries', 'target_learned', 'hold_carried', 'feed_effect_learned'];

export const PARAMETER_ROWS: readonly ParameterRow[] = ROWS.map(([name, unit, min, max, value, meaning], id) => ({
  id,
  name,
  unit,
  min,
  max,
  default: value,
  integer: WHOLE.includes(name),
  meaning,
  since: '0.1.0',
}));
