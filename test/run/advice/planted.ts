/**
 * Causes that are planted on purpose, each in five programs over five arcs. The rows stood before the rules that are to find
 * them; every third of them was held out while the rules were written, and so were the last two programs.
 */
import { assignValues, exampleSetup, type Scenario, type Setup } from '../../../sim/run/setup/index.js';
import type { Fault } from '../../../sim/world/plant/index.js';

/** A box, a table and an arc that agree, and the program that is cut with them. */
export interface Ground {
  readonly name: string;
  readonly setup: Setup;
  /** mm/min. */
  readonly feed: number;
  readonly text: (feed: number) => string;
  /** Where an offcut lies in the way, mm. */
  readonly offcut: { readonly x: number; readonly y: number };
}

const QUIET = [
  'world.sheet.tilt_x=0.01',
  'world.sheet.wave_mm=0.8',
  'world.sheet.wave_length_mm=300',
  'world.sheet.heat_growth_mm_per_s=0.01',
  'world.noise.white_V_rms_per_tick=0.4',
];

/** Box and world told the same arc. */
const arc = (volts: number, slope: number, feed_effect: number, crossing: number): string[] => [
  `world.arc.voltage_at_cut_V=${volts}`,
  `target_V=${volts}`,
  `world.arc.slope_V_per_mm=${slope}`,
  `arc_slope_V_per_mm=${slope}`,
  `world.arc.feed_effect_V=${feed_effect}`,
  `feed_effect_V=${feed_effect}`,
  `world.arc.crossing_V=${crossing}`,
];

/** Cut height, and the feed for which the arc holds, mm/s. */
const at = (height_mm: number, feed_mm_s: number): string[] => [
  `cut_height_mm=${height_mm}`,
  `world.arc.cut_standoff_mm=${height_mm}`,
  `target_feed_mm_s=${feed_mm_s}`,
  `world.arc.nominal_feed_mm_s=${feed_mm_s}`,
];

const ground = (
  name: string,
  values: readonly string[],
  feed: number,
  [x, y]: readonly [number, number],
  text: Ground['text'],
): Ground => ({
  name,
  offcut: { x, y },
  setup: assignValues(exampleSetup(), [...QUIET, ...values]),
  feed,
  text,
});

export const GROUNDS: readonly Ground[] = [
  ground('latch', arc(118, 4, 8, 25), 3000, [100, 45], (feed) =>
    [
      `G21 G90 F${feed}`,
      ...['G0 X90 Y90', 'M3', 'G1 X98', 'G3 X98 Y90 I-8 J0', 'M5'],
      ...['G0 X50 Y55', 'M3', 'G1 X60 Y60', 'G1 X150', 'G1 Y120', 'G1 X60', 'G1 Y60', 'M5', 'M2'],
      '',
    ].join('\n'),
  ),
  ground('strap', arc(130, 3, 5, 18), 2700, [120, 185], (feed) =>
    [
      `G21 G90 F${feed}`,
      ...['G0 X80 Y150', 'M3', 'G1 Y240', 'M5'],
      ...['G0 X40 Y200', 'M3', 'G1 X200', 'G2 X200 Y170 I0 J-15', 'G1 X40', 'M5', 'M2'],
      '',
    ].join('\n'),
  ),
  ground('corner', [...arc(105, 5.5, 10, 30), 'machine.supply.phases=3'], 3300, [340, 95], (feed) =>
    [
      `G21 G90 F${feed}`,
      ...['G0 X300 Y100', 'M3', 'G1 X310 Y110', 'G1 X390', 'G1 Y140', 'G1 X340', 'G1 Y190', 'G1 X310', 'G1 Y110', 'M5'],
      ...['G0 X420 Y120', 'M3', 'G1 X500', 'G3 X520 Y140 I0 J20', 'G1 Y200', 'M5', 'M2'],
      '',
    ].join('\n'),
  ),
  // The two after these were added when the rules stood.
  ground('hook', [...arc(128, 2.4, 6, 15), ...at(1.8, 30), 'world.sheet.tilt_y=0.015'], 1800, [100, 195], (feed) =>
    [
      `G21 G90 F${feed}`,
      ...['G0 X60 Y210', 'M3', 'G1 X70', 'G2 X130 Y210 I30 J0', 'G1 X130 Y240', 'G1 X180', 'M5'],
      ...['G0 X200 Y200', 'M3', 'G1 X240 Y230', 'G1 X240 Y260', 'M5', 'M2'],
      '',
    ].join('\n'),
  ),
  ground('brace', [...arc(98, 5.7, 12, 40), ...at(1.2, 75)], 4500, [300, 85], (feed) =>
    [
      `G21 G90 F${feed}`,
      ...['G0 X250 Y100', 'M3', 'G1 X420', 'G1 Y160', 'G1 X300 Y160', 'M5'],
      ...['G0 X350 Y50', 'M3', 'G1 Y240', 'M5', 'M2'],
      '',
    ].join('\n'),
  ),
];

/** One thing that is wrong. */
export interface Planted {
  readonly name: string;
  /** Names under which the advice may tell it: the cause, or where two tell the same thing either. */
  readonly causes: readonly string[];
  /** What is changed in the setup, as `--set` would. */
  readonly values?: (setup: Setup, ground: Ground) => readonly string[];
  readonly faults?: readonly Fault[];
  /** What is done to the program. */
  readonly text?: (ground: Ground) => string;
}

const set = (name: string, causes: string, ...values: string[]): Planted => ({
  name,
  causes: causes.split(' '),
  values: () => values,
});
const scaled = (name: string, cause: string, parameter: keyof Setup['box'], factor: number): Planted => ({
  name,
  causes: [cause],
  values: ({ box }) => [`${parameter}=${Number((box[parameter] * factor).toPrecision(4))}`],
});
const fault = (kind: Fault['kind'], at_s: number, value?: number): Planted => ({
  name: `fault ${kind}`,
  causes: [kind],
  faults: [{ kind, at_s, ...(value !== undefined && { value }) }],
});
const FAST = { text: ({ text }: Ground) => text(15000) };

export const PLANTED: readonly Planted[] = [
  // What the box was told, and is otherwise.
  scaled('V/mm told too low', 'arc-slope', 'arc_slope_V_per_mm', 0.3),
  scaled('V/mm told too high', 'arc-slope', 'arc_slope_V_per_mm', 2.1),
  scaled('Z steps told too few', 'z-steps', 'z_steps_per_mm', 0.5),
  scaled('Z steps told too many', 'z-steps', 'z_steps_per_mm', 1.6),
  scaled('X and Y steps told too many', 'xy-steps', 'x_steps_per_mm', 4),
  scaled('divider told too small', 'divider-gain', 'reading_gain_mV', 0.5),
  scaled('divider told too large', 'divider-gain', 'reading_gain_mV', 1.5),
  set('zero of the reading 180 counts off', 'divider-zero', 'reading_zero_counts=304'),
  {
    name: 'target told 5 V low, not found',
    causes: ['target'],
    values: ({ box }) => ['target_learned=0', `target_V=${box.target_V - 5}`],
  },
  {
    name: 'target told 6 V high, not found',
    causes: ['target'],
    values: ({ box }) => ['target_learned=0', `target_V=${box.target_V + 6}`],
  },
  set('touch offset 0.6 mm', 'touch-offset', 'touch_offset_mm=0.6'),
  set('touch offset -0.5 mm', 'touch-offset', 'touch_offset_mm=-0.5'),
  set('mains told 60 Hz', 'mains', 'mains_Hz=60', 'world.noise.ripple_V_peak=30'),
  // Settings of the box that cannot work.
  set(
    'no lockouts',
    'lockouts',
    'corner_fraction=0',
    'feed_effect_V=0',
    'target_learned=0',
    'crossing_rise_mm_per_s=0',
  ),
  set(
    'no corner hold',
    'lockouts',
    'corner_fraction=0',
    'feed_effect_V=0',
    'target_learned=0',
    'feed_effect_learned=0',
  ),
  {
    name: 'arc window ends too low',
    causes: ['arc-window'],
    values: ({ box }) => [`arc_high_V=${box.target_V + 6}`],
  },
  set('gain four times, over slow smoothing', 'gain smoothing', 'gain_p_per_s=90', 'smoothing_ms=30'),
  set('integral gain eight times', 'gain', 'gain_i_per_s2=1400'),
  set('gain a tenth', 'gain', 'gain_p_per_s=2', 'gain_i_per_s2=4'),
  set('smoothing 50 ms, integral gain doubled', 'smoothing gain', 'smoothing_ms=50', 'gain_i_per_s2=320'),
  set('follow down at 0.5 mm/s', 'follow-speed', 'follow_down_mm_s=0.5', 'world.sheet.tilt_x=-0.04'),
  set('slope limit 0.01', 'slope-limit', 'slope_limit=0.01', 'floor_allowance_mm=0.1', 'world.sheet.tilt_x=-0.05'),
  set('strike time too short', 'strike-time', 'strike_ms=100', 'world.arc.strike_delay_ms=400'),
  set('pierce height beyond the pilot', 'pierce-height', 'pierce_height_mm=6', 'world.arc.transfer_height_mm=4'),
  set('search travel too short', 'search-travel', 'seek_travel_mm=12'),
  set('travel too short', 'travel search-travel', 'seek_travel_mm=15', 'travel_mm=16'),
  set('time to fall too short', 'fall-time', 'fall_ms=50', 'world.arc.fall_ms=150'),
  set('arc may burn 2 s', 'arc-time', 'arc_longest_s=2'),
  // The machine.
  set('backlash 0.4 mm', 'backlash', 'machine.axis.backlash_um=400'),
  set('motor too weak', 'motor', 'machine.axis.acceleration_mm_s2=300', 'machine.axis.start_stop_mm_s=1'),
  set('motor too slow', 'motor', 'machine.axis.velocity_mm_s=8', 'machine.axis.start_stop_mm_s=1'),
  set('loose arm', 'arm', 'machine.head.arm_Hz=6', 'machine.head.arm_damping=0.02'),
  {
    name: 'full scale below the arc',
    causes: ['full-scale'],
    values: ({ box }) => {
      const part = (box.target_V * 0.95) / 384;
      return [
        `reading_gain_mV=${(box.reading_gain_mV * part).toFixed(3)}`,
        `machine.divider.ratio=${(120 * part).toFixed(3)}`,
      ];
    },
  },
  // The sheet, the arc and the shop.
  set('sheet steeper than Z', 'sheet follow-speed feed', 'world.sheet.wave_mm=9', 'world.sheet.wave_length_mm=120'),
  set('sheet vibrates', 'vibration', 'world.sheet.vibration_mm=0.4', 'world.sheet.vibration_Hz=12'),
  set('sheet grows with heat', 'heat', 'world.sheet.heat_growth_mm_per_s=1.2'),
  set('melt of the pierce', 'puddle', 'world.sheet.puddle_mm=1.8'),
  {
    name: 'tipped-up offcut',
    causes: ['offcut'],
    values: (_setup, { offcut }) => [
      'world.sheet.offcut_height_mm=25',
      `world.sheet.offcut_x_mm=${offcut.x}`,
      `world.sheet.offcut_y_mm=${offcut.y}`,
    ],
  },
  set('white noise 12 V', 'noise', 'world.noise.white_V_rms_per_tick=12'),
  set('slow noise 3 V', 'noise', 'world.noise.coloured_V_rms=3'),
  set('jumps of the arc', 'arc-jumps', 'world.arc.jump_V=25', 'world.arc.jump_rate_per_s=8', 'world.arc.jump_ms=60'),
  set(
    'double arcs',
    'double-arcs',
    'world.arc.double_arc_V=50',
    'world.arc.double_arcs_per_s=3',
    'world.arc.double_arc_ms=120',
  ),
  set('pickup of the mains', 'pickup', 'world.noise.pickup_V_peak=25'),
  set('strikes fail', 'strike-fails', 'world.arc.strike_fail_chance=0.97'),
  set(
    'worn electrode, target told',
    'wear',
    'target_learned=0',
    'world.arc.used_starts=400',
    'world.arc.wear_V_per_start=0.02',
  ),
  set(
    'pierce not over',
    'pierce-time',
    'pierce_ms=100',
    'world.arc.pierce_excess_V=60',
    'world.arc.pierce_decay_ms=700',
  ),
  // The program.
  {
    name: 'feed 15 m/min',
    causes: ['feed'],
    values: () => ['world.sheet.wave_mm=3', 'world.sheet.wave_length_mm=120'],
    ...FAST,
  },
  {
    name: 'waits with the torch on',
    causes: ['waits'],
    text: ({ text, feed }) => text(feed).replace(/M5\nM2/, 'G4 P9\nM5\nM2'),
  },
  {
    name: 'runs off the sheet',
    causes: ['off-sheet'],
    text: ({ text, feed }) =>
      text(feed).replace('G21', `G21 G90 F${feed}\nG0 X3 Y20\nM3\nG1 X-4\nG1 Y90\nG1 X20\nM5\nG21`),
  },
  // What breaks.
  fault('open-lead', 9),
  fault('arc-goes-out', 9),
  fault('lost-steps', 0, 0.4),
  fault('dead-x-step-tap', 0),
  fault('touch-never-closes', 0),
  fault('arc-never-starts', 0),
  fault('reversed-leads', 0),
  fault('reversed-direction', 0),
  fault('welded-relay', 0),
  fault('breakaway', 9),
  fault('resistor-top-short', 9, 1),
  fault('unpowered-axis', 9),
  // Came after the rules.
  set(
    'bumps side by side',
    'sheet',
    'world.sheet.bump_mm=2.5',
    'world.sheet.bump_size_mm=60',
    'world.sheet.bump_pitch_mm=65',
  ),
];

/** Rows that nobody looked at while the rules were written. */
export const heldOut = (index: number): boolean => index % 3 === 2;

/** Programs that came after the rules. */
export const CAME_LATER = ['hook', 'brace'];

/** The cut with something wrong in it. */
export function plantedScenario({ values, faults, text }: Planted, ground: Ground, seed: number): Scenario {
  const changed = assignValues(ground.setup, values?.(ground.setup, ground) ?? []);
  const setup = { ...changed, world: { ...changed.world, faults: faults ?? [] } };
  const program = { name: `${ground.name}.nc`, text: text?.(ground) ?? ground.text(ground.feed) };
  return { seed, setup, program };
}
