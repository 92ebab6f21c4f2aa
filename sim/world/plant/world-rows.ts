import type { WorldConfig } from './config.gen.js';
import { defaultsOf, flagRow, numberRow, type Row } from './rows.js';
import { BUMP_FLANK } from './sheet.js';

/** The steepest wave that is drawn, mm/mm: a sheet that still lies on its slats. Its slope is 2π × height / length. */
const STEEPEST_WAVE = 0.1;
/** The steepest bump or dent that is drawn, mm/mm: what handling leaves in a thin sheet. */
const STEEPEST_BUMP = 0.05;
/** Over missing metal an arc longer than this goes out, whatever holds the torch, mm: crossing_V is at most so much arc. */
const LONGEST_CROSSING_MM = 10;

/**
 * What is only assumed for simulation. No published number was found for any of these (only bounds for
 * the arc's slope), so each row is an assumption; a measured cut replaces it. Zero switches a cause off.
 */
export const WORLD_ROWS: readonly Row[] = [
  numberRow('sheet.tilt_x', 'mm/mm', -0.1, 0.1, 0.02, 'rise of the sheet along X', {
    drawn: { by: 0.03, decimals: 3 },
  }),
  numberRow('sheet.tilt_y', 'mm/mm', -0.1, 0.1, 0, 'rise of the sheet along Y', { drawn: { by: 0.03, decimals: 3 } }),
  numberRow('sheet.bow_mm', 'mm', -10, 10, 0, 'height of the middle above the ends along X (parabola)', {
    drawn: { by: 2, decimals: 1 },
  }),
  numberRow('sheet.wave_mm', 'mm', 0, 10, 2.5, 'amplitude of the waviness', {
    drawn: {
      to: [0, 2.5],
      decimals: 2,
      at_most: { of: { 'world.sheet.wave_length_mm': STEEPEST_WAVE / (2 * Math.PI) } },
    },
  }),
  numberRow('sheet.wave_length_mm', 'mm', 30, 3000, 250, 'wavelength of the waviness', {
    drawn: { to: [60, 1000], decimals: 0 },
  }),
  numberRow('sheet.wave_direction_deg', 'degrees', 0, 360, 20, 'direction in which the waves follow each other', {
    drawn: { to: [0, 360], decimals: 0 },
  }),
  numberRow('sheet.wave_phase_turns', 'turns', 0, 1, 0, 'phase of the wave at the origin, unless taken from the seed', {
    drawn: 'the seed brings the phase',
  }),
  flagRow('sheet.wave_phase_from_seed', true, 'take the phase of the wave from the seed', {
    drawn: 'the seed brings the phase',
  }),
  numberRow('sheet.heat_growth_mm_per_s', 'mm/s', 0, 2, 0.03, 'rise of the sheet under the burning arc', {
    drawn: { to: [0, 0.1], decimals: 2 },
  }),
  numberRow('sheet.compliance_mm_per_N', 'mm/N', 0, 1, 0.04, 'give of the sheet half-way between two slats', {
    drawn: { to: [0, 0.08], decimals: 3 },
  }),
  numberRow('sheet.vibration_mm', 'mm', 0, 1, 0, 'peak of the vibration of the sheet', {
    drawn: { to: [0, 0.1], decimals: 2 },
  }),
  numberRow('sheet.vibration_Hz', 'Hz', 1, 100, 15, 'frequency of that vibration', {
    drawn: { to: [5, 40], decimals: 0 },
  }),
  numberRow(
    'sheet.bump_mm',
    'mm',
    0,
    5,
    0,
    'height of bumps, and depth of dents, that lie on the sheet by turns; 0: none',
    {
      drawn: { to: [0, 1], decimals: 2, at_most: { of: { 'world.sheet.bump_size_mm': STEEPEST_BUMP / BUMP_FLANK } } },
    },
  ),
  numberRow('sheet.bump_size_mm', 'mm', 5, 300, 60, 'diameter of a bump or dent', {
    drawn: { to: [20, 120], decimals: 0 },
  }),
  numberRow('sheet.bump_pitch_mm', 'mm', 10, 1000, 130, 'distance from a bump to the next dent; no bump is wider', {
    drawn: 'bump_size_mm is drawn: more of the sheet is bumps, or less',
  }),
  numberRow(
    'sheet.puddle_mm',
    'mm',
    0,
    3,
    0,
    'height to which the melt of a pierce heaps up where it stands; 0: none',
    {
      drawn: { to: [0, 0.3], decimals: 2 },
    },
  ),
  numberRow(
    'sheet.drop_mm',
    'mm',
    0,
    10,
    0,
    'depth to which a part sinks once the arc has gone on along two kerf widths of its own cut; the arc gets longer by it until it meets whole metal',
    { drawn: { to: [0, 1.5], decimals: 1 } },
  ),
  numberRow('sheet.slat_pitch_mm', 'mm', 10, 1000, 100, 'distance of the slats, which run along Y', {
    drawn: 'compliance_mm_per_N is drawn: more give, or less',
  }),
  numberRow('sheet.offcut_height_mm', 'mm', 0, 40, 0, 'height of a tipped-up offcut at its raised edge; 0: none', {
    drawn: 'put where a program meets it, an offcut is a cut of its own in the tests',
  }),
  numberRow('sheet.offcut_x_mm', 'mm', 0, 3000, 300, 'least X of the offcut (its low edge)', {
    drawn: 'put where a program meets it, an offcut is a cut of its own in the tests',
  }),
  numberRow('sheet.offcut_y_mm', 'mm', 0, 2000, 200, 'least Y of the offcut', {
    drawn: 'put where a program meets it, an offcut is a cut of its own in the tests',
  }),
  numberRow('sheet.offcut_size_mm', 'mm', 1, 200, 30, 'side of the offcut', {
    drawn: 'put where a program meets it, an offcut is a cut of its own in the tests',
  }),

  numberRow(
    'arc.voltage_at_cut_V',
    'V',
    60,
    250,
    118,
    'arc voltage at the cut standoff and nominal feed, new electrode',
    { drawn: { by: 10, decimals: 1 } },
  ),
  numberRow('arc.cut_standoff_mm', 'mm', 0.5, 10, 1.5, 'standoff at which that voltage holds', {
    drawn: 'voltage_at_cut_V is drawn: it moves the same line',
  }),
  numberRow('arc.slope_V_per_mm', 'V/mm', 0.5, 12, 4, 'rise of the voltage with arc length', {
    drawn: { to: [2, 8], decimals: 2 },
  }),
  numberRow('arc.roll_off_from_mm', 'mm', 2, 50, 10, 'arc length from which the voltage rises less and less', {
    drawn: 'beyond the standoffs of a cut',
  }),
  numberRow(
    'arc.roll_off_mm',
    'mm',
    1,
    100,
    10,
    'scale of that roll-off: the excess can never count for more than this',
    { drawn: 'beyond the standoffs of a cut' },
  ),
  numberRow('arc.nominal_feed_mm_s', 'mm/s', 1, 400, 50, 'feed for which the other values hold', {
    drawn: 'feed_effect_V is drawn: it moves the same curve',
  }),
  numberRow('arc.feed_effect_V', 'V', 0, 40, 8, 'rise of the voltage as the feed drops from nominal to nothing', {
    drawn: { to: [0, 16], decimals: 1 },
  }),
  numberRow('arc.feed_effect_ms', 'ms', 1, 1000, 50, 'time constant of the feed effect', {
    drawn: { to: [25, 110], decimals: 0 },
  }),
  numberRow('arc.crossing_V', 'V', 0, 80, 25, 'rise of the voltage over metal that is wholly missing', {
    drawn: {
      to: [5, 45],
      decimals: 1,
      at_most: { of: { 'world.arc.slope_V_per_mm': LONGEST_CROSSING_MM } },
    },
  }),
  numberRow('arc.front_ms', 'ms', 0.5, 50, 2, 'time constant with which the arc meets a change of metal', {
    drawn: 'crossing_V and kerf_mm are drawn: height and width of the same change',
  }),
  numberRow('arc.kerf_mm', 'mm', 0.5, 5, 1.5, 'kerf width at nominal feed', { drawn: { times: 0.3, decimals: 2 } }),
  numberRow('arc.kerf_slow_growth', '', 0, 2, 0.5, 'relative growth of the kerf as the feed drops to nothing', {
    drawn: 'kerf_mm is drawn',
  }),
  numberRow('arc.reach_mm', 'mm', 3, 60, 15, 'arc length beyond which the arc goes out', {
    drawn: 'the fault arc-goes-out is drawn',
  }),
  numberRow('arc.reach_ms', 'ms', 1, 500, 15, 'time it takes to go out there', {
    drawn: 'the fault arc-goes-out is drawn',
  }),
  numberRow('arc.pierce_excess_V', 'V', 0, 120, 30, 'excess of the voltage at the moment of transfer', {
    drawn: { times: 0.3, decimals: 1 },
  }),
  numberRow('arc.pierce_decay_ms', 'ms', 1, 2000, 120, 'time constant with which the excess decays', {
    drawn: { to: [80, 250], decimals: 0 },
  }),
  numberRow(
    'arc.spatter_V_rms',
    'V',
    0,
    40,
    4,
    'rms of the pierce’s spatter noise at transfer, from tick to tick; decays with the excess',
    { drawn: 'pierce_excess_V is drawn' },
  ),
  numberRow('arc.wear_V_per_start', 'V', 0, 1, 0.01, 'rise of the voltage by wear of the electrode, each start', {
    drawn: { to: [0, 0.05], decimals: 3 },
  }),
  numberRow(
    'arc.wear_V_per_min',
    'V/min',
    0,
    5,
    0.05,
    'rise of the voltage by wear of the electrode, each minute of arc',
    { drawn: { to: [0, 0.25], decimals: 2 } },
  ),
  numberRow(
    'arc.used_starts',
    '',
    0,
    5000,
    0,
    'starts that the electrode has behind it: its wear stands from the first arc',
    {
      drawn: { to: [0, 60], decimals: 0 },
    },
  ),
  numberRow('arc.used_min', 'min', 0, 600, 0, 'minutes of arc that the electrode has behind it', {
    drawn: { to: [0, 10], decimals: 1 },
  }),
  numberRow(
    'arc.double_arc_V',
    'V',
    0,
    100,
    0,
    'drop of the voltage while a double arc burns through the nozzle; 0: none',
    {
      drawn: { to: [0, 30], decimals: 0, none_below: 15 },
    },
  ),
  numberRow('arc.double_arcs_per_s', '1/s', 0, 50, 0.2, 'double arcs a second, at random moments', {
    drawn: { to: [0, 0.2], decimals: 2 },
  }),
  numberRow('arc.double_arc_ms', 'ms', 1, 500, 10, 'length of a double arc', { drawn: { to: [2, 20], decimals: 0 } }),
  numberRow(
    'arc.jump_V',
    'V',
    0,
    60,
    0,
    'height of the jumps of the voltage (moving roots, double arcs), of either sign',
    {
      drawn: { to: [0, 3], decimals: 1 },
    },
  ),
  numberRow('arc.jump_rate_per_s', '1/s', 0, 50, 1, 'jumps a second, at random moments', {
    drawn: { to: [0, 3], decimals: 1 },
  }),
  numberRow('arc.jump_ms', 'ms', 1, 500, 10, 'length of a jump', { drawn: { to: [2, 20], decimals: 0 } }),
  numberRow('arc.source_lag_ms', 'ms', 0, 50, 0, 'time constant with which the supply’s voltage follows the arc', {
    drawn: { to: [0, 5], decimals: 1 },
  }),
  numberRow('arc.no_load_ms', 'ms', 0, 1000, 30, 'time at no-load voltage before the pilot arc burns', {
    drawn: 'strike_delay_ms is drawn',
  }),
  numberRow(
    'arc.contact_start_ms',
    'ms',
    0,
    1000,
    0,
    'time after it for which the electrode touches the nozzle, with no voltage to the work, until the air lifts it',
    { drawn: { to: [0, 100], decimals: 0 } },
  ),
  numberRow('arc.pilot_jump_V', 'V', 0, 40, 0, 'height of the jumps of the pilot’s voltage, of either sign; 0: none', {
    drawn: { to: [0, 10], decimals: 1 },
  }),
  numberRow('arc.pilot_jumps_per_s', '1/s', 0, 50, 3, 'jumps of the pilot’s voltage a second, at random moments', {
    drawn: 'pilot_jump_V is drawn',
  }),
  numberRow('arc.pilot_wander_V_rms', 'V', 0, 20, 0, 'slow wander of the pilot’s voltage, rms', {
    drawn: { to: [0, 2], decimals: 1 },
  }),
  numberRow('arc.pilot_wander_Hz', 'Hz', 0.05, 100, 1, 'corner frequency of that wander', {
    drawn: 'pilot_wander_V_rms is drawn',
  }),
  numberRow(
    'arc.pilot_persists_ms',
    'ms',
    0,
    1000,
    0,
    'time after the transfer for which the pilot’s voltage is still what is read',
    { drawn: { to: [0, 200], decimals: 0 } },
  ),
  numberRow('arc.strike_delay_ms', 'ms', 0, 3000, 150, 'least time from the closed firing contact to transfer', {
    drawn: { times: 0.6, decimals: 0 },
  }),
  numberRow('arc.transfer_height_mm', 'mm', 0.5, 20, 5, 'greatest standoff at which the pilot arc transfers', {
    drawn: 'strike_fail_chance is drawn: strikes that fail',
  }),
  numberRow('arc.strike_fail_chance', '', 0, 1, 0, 'chance that a start ends with the pilot arc', {
    drawn: { to: [0, 0.2], decimals: 2 },
  }),
  numberRow('arc.off_ms', 'ms', 0, 50, 2, 'time for which the arc burns on after the firing contact opens', {
    drawn: 'the fault latching-trigger is drawn: an arc that stays',
  }),
  numberRow('arc.fall_ms', 'ms', 1, 1000, 30, 'time constant of the voltage after the arc or pilot is out', {
    drawn: 'the fault latching-trigger is drawn: a voltage that stays',
  }),

  numberRow(
    'noise.white_V_rms_per_tick',
    'V',
    0,
    20,
    1,
    'white noise as rms of the mean over a 1 ms tick; a 10 kHz reading carries √10 times as much',
    { drawn: { to: [0.05, 1.2], decimals: 2 } },
  ),
  numberRow('noise.coloured_V_rms', 'V', 0, 20, 0.1, 'rms of slow noise (one pole at the corner frequency)', {
    drawn: { to: [0, 0.3], decimals: 2 },
  }),
  numberRow('noise.coloured_corner_Hz', 'Hz', 0.05, 400, 5, 'corner frequency of the slow noise', {
    drawn: { to: [0.5, 20], decimals: 1 },
  }),
  numberRow(
    'noise.ripple_V_peak',
    'V',
    0,
    40,
    2,
    'peak of the rectifier’s ripple: twice the mains frequency for one phase, six times for three',
    { drawn: { to: [0, 30], decimals: 1 } },
  ),
  numberRow('noise.inverter_V_peak', 'V', 0, 40, 3, 'peak of the inverter’s ripple at the torch', {
    drawn: { to: [0, 5], decimals: 1 },
  }),
  numberRow(
    'noise.inverter_kHz',
    'kHz',
    5,
    200,
    20.03,
    'frequency of the inverter’s ripple; its alias is what the 10 kHz readings show',
    { drawn: 'inverter_V_peak is drawn' },
  ),
  numberRow(
    'noise.pickup_V_peak',
    'V',
    0,
    400,
    0,
    'peak of the mains voltage that the sensing leads pick up, at any time',
    {
      drawn: { to: [0, 4], decimals: 1 },
    },
  ),
  numberRow('noise.impulse_rate_per_s', '1/s', 0, 500, 2, 'impulses a second, at random moments', {
    drawn: { to: [0, 10], decimals: 0 },
  }),
  numberRow('noise.impulse_V', 'V', 0, 500, 100, 'height of an impulse, of either sign', {
    drawn: { to: [20, 200], decimals: 0 },
  }),
  numberRow('noise.impulse_ms', 'ms', 0.001, 0.9, 0.05, 'width of an impulse; may be shorter than a reading', {
    drawn: 'impulse_V is drawn',
  }),
].map((row) => ({ ...row, assumption: true }));

/** The world as its rows give it, with nothing broken. */
export const DEFAULT_WORLD = { ...defaultsOf(WORLD_ROWS), faults: [] } as unknown as WorldConfig;
