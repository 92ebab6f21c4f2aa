/** Causes of the world, each with a run in which a weakened loop is hurt by it; `rows-causes.ts` has the weakened loops. */
import { type Changes, STRAIGHT } from '../run/loop/cut.js';

export interface Cause {
  /** What is at work, with its strength. */
  readonly name: string;
  readonly program: string;
  /** The run with the cause. */
  readonly changes: Changes;
  /** The same run without it. */
  readonly without: Changes;
  /** The weakened loop that shows it, and by which requirement or goal. */
  readonly row: string;
  readonly shown_by: string;
}

const program = (...lines: string[]) => ['G21 G90 G17', ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n');
/** Over bumps that lie 60 mm apart. */
const OVER_BUMPS = program('F3000', 'G0 X50 Y120', 'M3', 'G1 X350');
/** A closed contour that goes on for 18 mm over the part that it has cut free. */
const CUT_FREE = program(
  ...['F1000', 'G0 X100 Y92', 'M3', 'G1 Y100', 'G1 X130', 'G1 Y140', 'G1 X70', 'G1 Y100', 'G1 X118'],
);
/** An M5 between two cutting moves. */
const THROUGH = program('F3000', 'G0 X50 Y50', 'M3', 'G1 X150', 'M5', 'G1 X250');

const BUMPS = { 'sheet.bump_size_mm': 60, 'sheet.bump_pitch_mm': 60 };
const WEAR = { 'arc.wear_V_per_start': 0.01, 'arc.wear_V_per_min': 0.05 };
const ripple = (phases: number): Changes => ({
  machine: { 'supply.phases': phases },
  world: { 'noise.ripple_V_peak': 30 },
});
/** Four volts that the leads pick up, of a mains that the box was told. */
const pickup = (mains_Hz: number): Changes => ({
  machine: { 'supply.mains_Hz': mains_Hz },
  box: { mains_Hz },
  world: { 'noise.pickup_V_peak': 4 },
});
/** An arc whose voltage lies at the wide code at 3/8 of the range. */
const AT_WIDE_CODE: Changes = { box: { target_V: 130 }, world: { 'arc.voltage_at_cut_V': 136 } };

export const CAUSES: readonly Cause[] = [
  {
    name: 'bumps of 1.5 mm',
    program: OVER_BUMPS,
    changes: { world: { ...BUMPS, 'sheet.bump_mm': 1.5 } },
    without: { world: BUMPS },
    row: 'up-at-2-mm-s',
    shown_by: 'least-standoff',
  },
  {
    name: 'a puddle of 0.6 mm',
    program: STRAIGHT,
    changes: { world: { 'sheet.puddle_mm': 0.6 } },
    without: {},
    row: 'target-of-the-standing-torch',
    shown_by: 'standoff-error',
  },
  {
    name: 'a part that sinks by 1.5 mm',
    program: CUT_FREE,
    changes: { world: { 'arc.crossing_V': 0, 'sheet.drop_mm': 1.5 } },
    without: { world: { 'arc.crossing_V': 0 } },
    row: 'crossings-unseen',
    shown_by: 'no-contact',
  },
  {
    name: 'an electrode that was used for an hour',
    program: STRAIGHT,
    changes: { world: { ...WEAR, 'arc.used_starts': 500, 'arc.used_min': 60 } },
    without: { world: WEAR },
    row: 'target-as-told',
    shown_by: 'no-contact',
  },
  {
    name: 'double arcs of 100 V for 3 ms, 20 a second',
    program: STRAIGHT,
    // A box that looks for no crossings waits for no dip of the voltage either: the spike filter alone is in between.
    changes: {
      box: { crossing_rise_mm_per_s: 0 },
      world: { 'arc.double_arc_V': 100, 'arc.double_arcs_per_s': 20, 'arc.double_arc_ms': 3 },
    },
    without: { box: { crossing_rise_mm_per_s: 0 } },
    row: 'spike-of-half-a-millisecond',
    shown_by: 'finished',
  },
  {
    name: 'a contact start of 100 ms',
    program: STRAIGHT,
    changes: { world: { 'arc.contact_start_ms': 100 } },
    without: {},
    row: 'no-voltage-in-a-strike',
    shown_by: 'finished',
  },
  {
    name: 'ripple of three phases, 30 V',
    program: STRAIGHT,
    changes: ripple(3),
    without: {},
    row: 'spike-by-the-mean',
    shown_by: 'reading-ends-cut',
  },
  {
    name: 'pickup of 60 Hz',
    program: STRAIGHT,
    changes: pickup(60),
    without: pickup(50),
    row: 'pickup-of-50-hz',
    shown_by: 'finished',
  },
  {
    name: 'wide codes of 9 counts',
    program: STRAIGHT,
    changes: { ...AT_WIDE_CODE, machine: { 'converter.wide_counts': 9 } },
    without: AT_WIDE_CODE,
    row: 'stuck-after-a-tenth',
    shown_by: 'finished',
  },
  {
    name: 'an M5 at 50 mm/s',
    program: THROUGH,
    changes: { machine: { 'table.torch_off_mm_s': 50 } },
    without: {},
    row: 'end-in-motion-is-a-fault',
    shown_by: 'finished',
  },
];

/** The runs with the causes, for the judge of all defects. */
export const CAUSE_SCENARIOS = CAUSES.map(({ name, program, changes }) => ({
  name: `cause: ${name}`,
  program,
  changes,
}));
