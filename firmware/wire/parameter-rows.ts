/**
 * The parameter table: the one place where a parameter is defined. Host validation, the editor schema, the
 * module's own range check, command-line help, the campaign's ranges and the table of the notes come from these rows.
 * An id is never reused; a new row takes the next free one, wherever among the others it stands.
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
  /** What a campaign draws of it (see the rows of the plant), or the sentence why it takes it as the setup has it. */
  readonly drawn: Drawn;
  /** Package version that first had the row. */
  readonly since: string;
  /** Why nothing uses it any more; a setup that gives it another value than its default is told. */
  readonly retired?: string;
}

/** A sum over quantities of the cut, by path, each with a factor, and a constant. */
interface Sum {
  readonly of: Readonly<Record<string, number>>;
  readonly plus?: number;
}
type Drawn =
  | {
      readonly by?: number;
      readonly times?: number;
      readonly to?: readonly [number, number];
      readonly decimals: number;
      readonly share_of?: Sum;
      readonly at_least?: Sum;
    }
  | string;
const NOT_DRAWN = 'a parameter is what is tried; --range draws it';

/** Id, name, unit, least, most, default; then its meaning, and what else there is to say. */
type Bare = readonly [
  readonly [number, string, string, number, number, number],
  string,
  Partial<Pick<ParameterRow, 'integer' | 'drawn' | 'since' | 'retired'>>?,
];

interface Group {
  readonly title: string;
  /** The page of hardware-notes that explains what they are about. */
  readonly notes: string;
  readonly rows: readonly Bare[];
}

const FOUND_AT_START = 'the target is found from each touch-off, and how far it can be believed with it';

/** Of the arc of a cut: at cut height, over missing metal, at rest, and 27 V for wear, jumps and a torch that is high. */
const HIGHEST_ARC: Sum = {
  of: { 'world.arc.voltage_at_cut_V': 1, 'world.arc.crossing_V': 1, 'world.arc.feed_effect_V': 1 },
  plus: 27,
};

const GROUPS = [
  {
    title: 'From reading to volts',
    notes: 'sensing.md',
    rows: [
      [
        [0, 'reading_gain_mV', 'mV', 10, 500, 96.68],
        'arc voltage for one converter count: divider ratio × converter step',
      ],
      [
        [1, 'reading_zero_counts', 'counts', 0, 1000, 124],
        'converter reading with 0 V at the tap; above 0, so that reversed leads are seen',
      ],
      [
        [2, 'mains_Hz', 'Hz', 45, 65, 50],
        'mains frequency; the moving mean spans half its period and so nulls rectifier ripple',
        { drawn: { to: [1, 1], decimals: 0, share_of: { of: { 'machine.supply.mains_Hz': 1 } } } },
      ],
      [
        [3, 'spike_V', 'V', 0, 100, 15],
        'a reading further than this from the mean, and from the one half a mains period earlier, is rejected as a spike; 0: none is',
      ],
      [
        [4, 'spike_ms', 'ms', 1, 20, 4],
        'longest time that readings are rejected; a change that lasts longer is believed',
      ],
      [[5, 'rest_V', 'V', 5, 60, 25], 'below this the arc voltage counts as near zero'],
      [
        [6, 'stuck_ms', 'ms', 0, 1000, 50],
        'this long without any change of the raw reading during an arc is a stuck reading; 0: not watched',
      ],
    ],
  },
  {
    title: 'Arc OK',
    notes: 'modes.md',
    rows: [
      [[7, 'arc_low_V', 'V', 20, 200, 60], 'lower edge of the arc window'],
      [
        [8, 'arc_high_V', 'V', 60, 400, 190],
        'upper edge of the arc window: above target + kerf crossing + feed effect',
        { drawn: { by: 0, decimals: 0, at_least: HIGHEST_ARC } },
      ],
      [
        [9, 'transfer_V', 'V', 40, 400, 136],
        'voltage to expect between that of a piercing arc and that of the pilot: only shown, nothing decides by it',
      ],
      [
        [10, 'arc_on_ms', 'ms', 1, 500, 30],
        'time inside the arc window before the arc counts as burning',
        { drawn: { by: 10, decimals: 0 } },
      ],
      [
        [11, 'arc_off_ms', 'ms', 1, 1000, 100],
        'time outside the arc window before the arc counts as lost: longer than a kerf crossing',
      ],
      [
        [12, 'supply_contact', '1', 0, 1, 0],
        "1: the supply's own arc contact is wired and must agree",
        { integer: true },
      ],
    ],
  },
  {
    title: 'Touch-off',
    notes: 'axis.md',
    rows: [
      [[13, 'seek_fast_mm_s', 'mm/s', 1, 50, 12], 'speed of the first approach to the sheet'],
      [
        [14, 'seek_slow_mm_s', 'mm/s', 0.2, 10, 2],
        'speed of the second approach and of the lift whose opening contact is the reference',
      ],
      [[15, 'seek_travel_mm', 'mm', 5, 150, 45], 'give up the touch-off after this much downward travel'],
      [
        [16, 'touch_offset_mm', 'mm', -3, 3, 0],
        'height of the torch tip above the sheet when the touch-off switch opens',
      ],
    ],
  },
  {
    title: 'Pierce and strike',
    notes: 'modes.md',
    rows: [
      [[17, 'pierce_height_mm', 'mm', 1, 10, 3], 'standoff while piercing', { drawn: { by: 0.5, decimals: 2 } }],
      [
        [18, 'pierce_ms', 'ms', 0, 5000, 500],
        'pierce delay: time from arc OK until the torch is lowered',
        { drawn: { times: 0.4, decimals: 0 } },
      ],
      [[19, 'cut_height_mm', 'mm', 0.5, 6, 1.5], 'standoff while cutting', { drawn: { by: 0.3, decimals: 2 } }],
      [[20, 'strike_ms', 'ms', 100, 5000, 1500], 'longest wait for an arc after the trigger goes on'],
      [
        [21, 'strike_retries', '1', 0, 5, 2],
        'further attempts after a strike with no arc, before the motion permit was ever given',
        { integer: true },
      ],
      [
        [22, 'fall_ms', 'ms', 50, 3000, 500],
        'after the trigger goes off the arc voltage must be near zero within this time',
      ],
    ],
  },
  {
    title: 'Settle and target',
    notes: 'modes.md',
    rows: [
      [
        [23, 'settle_ms', 'ms', 0, 2000, 40],
        'wait at cut height before the regulator takes over',
        { drawn: { by: 20, decimals: 0 } },
      ],
      [
        [24, 'target_learned', '1', 0, 1, 1],
        '1: target and feed effect are found from each touch-off; 0: the target is target_V',
        { integer: true },
      ],
      [[25, 'target_V', 'V', 30, 250, 118], 'arc voltage to hold; with target_learned only what to expect'],
      [[26, 'target_feed_mm_s', 'mm/s', 1, 500, 50], 'feed at which target_V is right'],
      [[27, 'learn_ms', 'ms', 20, 2000, 200], 'without effect: retired', { retired: FOUND_AT_START }],
      [
        [28, 'learn_band_V', 'V', 1, 60, 15],
        'a target found further than this from target_V is dropped, and this bound used',
      ],
      [[29, 'learn_change_V', 'V', 0.1, 20, 2], 'without effect: retired', { retired: FOUND_AT_START }],
      [
        [30, 'trim_V', 'V', -10, 10, 0],
        'added to the target; the one parameter that may change during a cut, at 2 V/s, by `standoff box trim`; such a change is lost at power-off unless it is kept with the key off',
      ],
    ],
  },
  {
    title: 'Regulator',
    notes: 'fuzzing.md',
    rows: [
      [
        [31, 'arc_slope_V_per_mm', 'V/mm', 0.5, 12, 4],
        'arc voltage for each millimetre of standoff; the gains are divided by it',
        { drawn: { to: [0.7, 1.3], decimals: 2, share_of: { of: { 'world.arc.slope_V_per_mm': 1 } } } },
      ],
      [
        [32, 'gain_p_per_s', '1/s', 0, 100, 22],
        'proportional gain: speed of correction for each millimetre of error',
        { drawn: { times: 0.25, decimals: 1 } },
      ],
      [
        [33, 'gain_i_per_s2', '1/s²', 0, 2000, 160],
        'integral gain; gain_p_per_s / gain_i_per_s2 is the integral time',
        { drawn: { times: 0.25, decimals: 0 } },
      ],
      [[34, 'gain_d', '1', 0, 1, 0], 'derivative gain on the measurement; 0 is off'],
      [[35, 'tracking_ms', 'ms', 5, 2000, 100], 'anti-windup: time in which a saturated integrator is led back'],
      [[36, 'smoothing_ms', 'ms', 0, 50, 5], 'low-pass on the error before the regulator'],
      [
        [37, 'reversal_um', 'µm', 0, 100, 30],
        'Z turns round only after this much of opposite travel is wanted',
        { drawn: { by: 20, decimals: 0 } },
      ],
    ],
  },
  {
    title: 'Axis',
    notes: 'axis.md',
    rows: [
      [[38, 'x_steps_per_mm', '1/mm', 1, 5000, 160], 'steps of the X axis for a millimetre'],
      [[39, 'y_steps_per_mm', '1/mm', 1, 5000, 160], 'steps of the Y axis for a millimetre'],
      [[40, 'z_steps_per_mm', '1/mm', 10, 5000, 400], 'steps of the Z axis for a millimetre'],
      [[41, 'z_velocity_mm_s', 'mm/s', 1, 150, 40], 'highest speed of Z'],
      [[42, 'z_acceleration_mm_s2', 'mm/s²', 50, 10000, 1500], 'highest acceleration of Z'],
      [[43, 'follow_down_mm_s', 'mm/s', 0.5, 50, 10], 'highest downward speed while the regulator owns Z'],
      [[44, 'travel_mm', 'mm', 5, 200, 60], 'Z never goes further than this below where the box took it over'],
    ],
  },
  {
    title: 'Feed and lockouts',
    notes: 'modes.md',
    rows: [
      [[45, 'feed_filter_ms', 'ms', 1, 200, 12], 'low-pass on the feed taken from the X and Y steps'],
      [
        [46, 'hold_carried', '1', 0, 1, 1],
        "in a hold, 1: Z is carried along the sheet's estimated slope; 0: Z is frozen",
        { integer: true },
      ],
      [[47, 'slope_path_mm', 'mm', 2, 100, 10], 'path over which the slope estimate forgets'],
      [[48, 'slope_limit', '1', 0, 0.5, 0.12], 'steepest sheet that is believed, in mm of height for each mm of path'],
      [
        [49, 'corner_fraction', '1', 0, 0.99, 0.9],
        "hold when the feed falls under this fraction of the cut's running feed; 0: no corner lockout",
      ],
      [[50, 'corner_path_mm', 'mm', 0.5, 50, 10], 'longest corner hold, in path'],
      [
        [51, 'feed_effect_V', 'V', 0, 40, 8],
        'rise of the arc voltage from target feed to standstill at constant standoff; with target_learned only what to expect',
      ],
      [[52, 'feed_effect_ms', 'ms', 1, 500, 50], 'time constant of that rise; not used with target_learned'],
      [
        [53, 'feed_effect_learned', '1', 0, 1, 1],
        '1: feed_effect_V is only the start and is learned at corners; not used with target_learned',
        { integer: true },
      ],
      [
        [54, 'crossing_rise_mm_per_s', 'mm/s', 0, 1000, 90],
        'hold when the arc seems to lengthen this fast over crossing_window_ms; 0: not watched',
      ],
      [[55, 'crossing_window_ms', 'ms', 2, 15, 8], 'time over which that rise is taken'],
      [
        [56, 'crossing_band_mm', 'mm', 0, 20, 3],
        'hold when the arc seems this much longer than wanted; 0: no band is watched',
      ],
      [[57, 'crossing_ms', 'ms', 10, 2000, 400], 'longest hold for a kerf crossing, in time'],
      [
        [66, 'external_path_mm', 'mm', 0, 1000, 20],
        'path of a contour for which the hold input may hold; after it the regulator is back at limited speed',
      ],
      [[58, 'crossing_path_mm', 'mm', 0.5, 50, 10], 'longest hold for a kerf crossing, in path'],
      [
        [59, 'up_band_mm', 'mm', 0.2, 10, 1.5],
        'in a hold, when the arc seems shorter than wanted by more than this, Z may always rise',
        { drawn: { by: 0.3, decimals: 2 } },
      ],
      [
        [60, 'floor_allowance_mm', 'mm', 0, 5, 0.7],
        'follow may go this far below the touched height, plus slope_limit × path',
      ],
    ],
  },
  {
    title: 'Guard',
    notes: 'stops.md',
    rows: [
      [[61, 'arc_longest_s', 's', 1, 3600, 600], 'longest continuous arc'],
      [[62, 'dive_mm', 'mm', 1, 50, 15], 'Z never goes further than this below the touched sheet'],
      [
        [63, 'wrong_way_mm', 'mm', 0.2, 5, 0.3],
        'an error beyond this that grows while Z corrects it, as over a sheet steeper than any, is a fault',
      ],
      [
        [64, 'stray_ms', 'ms', 50, 10000, 800],
        'X/Y steps that go on this long after the permit was withdrawn set the latched stop',
      ],
      [
        [65, 'standstill_s', 's', 1, 60, 5],
        'an arc that burns this long under a motion permit without X/Y steps is put out',
      ],
    ],
  },
] as const satisfies readonly Group[];

export type ParameterName = (typeof GROUPS)[number]['rows'][number][0][1];
/** Some parameters or all of them by name, in the units of their rows. */
export type ParameterValues = Readonly<Partial<Record<ParameterName, number>>>;

const rowOf = ([[id, name, unit, min, max, value], meaning, options]: Bare): ParameterRow => ({
  id,
  name: name as ParameterName,
  unit,
  min,
  max,
  default: value,
  integer: false,
  meaning,
  drawn: NOT_DRAWN,
  since: '0.1.0',
  ...options,
});

/** As the person at the table looks for them. */
export const PARAMETER_GROUPS = GROUPS.map(({ title, notes, rows }) => ({ title, notes, rows: rows.map(rowOf) }));

/** In the order of the ids, which are 0, 1, 2, …: a row stands at its id. */
export const PARAMETER_ROWS: readonly ParameterRow[] = PARAMETER_GROUPS.flatMap(({ rows }) => rows).sort(
  (a, b) => a.id - b.id,
);
const misplaced = PARAMETER_ROWS.find(({ id }, place) => id !== place);
if (misplaced) throw new Error(`${misplaced.name} has the id ${misplaced.id}, which is taken or leaves one out`);
