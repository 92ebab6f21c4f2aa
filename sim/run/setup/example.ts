import { readSetup, type Setup } from './setup.js';

/** Name of the example setup in messages. */
const EXAMPLE_SETUP_NAME = 'example setup';

/** The setup of the example cut: invented, as is the program that goes with it. */
export const EXAMPLE_SETUP = `# Hinge plates for a garden gate, 3 mm mild steel. An invented example: no such
# table, supply or sheet exists. What is left out keeps its default; a number may
# be written with its unit. 'standoff schema' lists every key for your editor.

# What is stored in the box.
box:
  cut_height_mm: 1.5
  pierce_ms: 500 ms
  target_V: 118 V            # the voltage at cut_height_mm, at target_feed_mm_s
  target_feed_mm_s: 50       # 3000 mm/min
  arc_slope_V_per_mm: 4 V/mm # what one millimetre of standoff is worth

# What a rule, a meter and the plates on the machine tell.
machine:
  divider:                   # as 'standoff divider' proposes it
    top_resistors: 4         # in series, two in each lead, at the tap
    top_kohm: 301 kohm
    bottom_kohm: 10.2 kohm
    capacitor_nF: 47 nF
    ratio: 120               # what these make: 120 V of arc are 1 V at the tap
    rc_ms: 0.472 ms
  supply:
    rated_A: 40 A
    cut_A: 40 A
    duty_percent: 60 %
  table:
    sheet_width_mm: 600
    sheet_height_mm: 400
    sheet_thickness_mm: 3

# What is only assumed: every number below is a guess until a cut is measured.
world:
  sheet:                     # it leans, it is wavy, and it grows with heat
    tilt_x: 0.02
    wave_mm: 2.5
    wave_length_mm: 250
    heat_growth_mm_per_s: 0.03
  arc:
    slope_V_per_mm: 4
    feed_effect_V: 8         # the voltage rises when the table slows down
    crossing_V: 25           # and jumps where the path meets an earlier cut
  noise:
    white_V_rms_per_tick: 1
    ripple_V_peak: 2
  faults: []                 # such as: { kind: open-lead, at_s: 12 }
`;

/** The example, read. */
export const exampleSetup = (): Setup => readSetup(EXAMPLE_SETUP, EXAMPLE_SETUP_NAME);
