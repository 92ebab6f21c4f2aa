import { ORIGIN_NAMES } from '../../base/index.js';
import type { MachineConfig } from './config.gen.js';
import { choiceRow, defaultsOf, flagRow, notDrawn, numberRow, type Row } from './rows.js';

// Why a campaign takes a quantity as the setup has it.
const MEASURED =
  'is measured once; where the setup has it wrong is a mistake of the setup, not a thing that a shop brings';
const PROGRAM = 'belongs to the program and the sheet; a campaign draws programs in place of it';
const PLATE = 'stands on the data plate; another supply is another setup';
const DIVIDER = 'the simulated cut knows the divider by its ratio and time constant; the parts are for the arithmetic';
const RATIO = 'found by calibration; gain_error is drawn for what is left';
const CALIBRATED = 'calibrated away, or for the arithmetic; gain_error of the divider is drawn for what is left';
const ARITHMETIC = 'only the electrical arithmetic uses it';

/** A scale measured with a rule over 100 mm, to half a millimetre. Assumption. */
const RULE = 0.005;

/** Where machine zero, the origins of a program's coordinate systems and its reference points lie. */
const originRows = (): Row[] =>
  Object.entries(ORIGIN_NAMES).flatMap(([word, { x, y }]) => {
    const meaning = `of ${ORIGIN_MEANINGS[word] ?? `the origin of ${word}`}, from the lower left corner of the sheet`;
    return [
      numberRow(`origins.${x}`, 'mm', -3000, 3000, 0, `X ${meaning}`),
      numberRow(`origins.${y}`, 'mm', -3000, 3000, 0, `Y ${meaning}`),
    ];
  });

const ORIGIN_MEANINGS: Readonly<Record<string, string>> = {
  G53: 'machine zero (G53)',
  G28: 'the reference point of G28',
  G30: 'the reference point of G30',
};

/** What can be measured on the machine with a rule and a meter, or read from its plates. */
export const MACHINE_ROWS: readonly Row[] = [
  ...notDrawn(MEASURED, [
    numberRow('axis.steps_per_mm', 'steps/mm', 20, 3200, 400, 'steps of the Z motor for one millimetre of travel', {
      drawn: { times: RULE, decimals: 1 },
    }),
    numberRow('axis.velocity_mm_s', 'mm/s', 1, 300, 60, 'greatest Z speed that the motor can follow'),
    numberRow('axis.acceleration_mm_s2', 'mm/s²', 50, 20000, 2500, 'greatest Z acceleration that the motor can follow'),
    numberRow(
      'axis.start_stop_mm_s',
      'mm/s',
      0,
      50,
      8,
      'speed that the motor can take up or drop at once (pull-in speed)',
    ),
    numberRow('axis.backlash_um', 'um', 0, 500, 10, 'backlash between motor and carriage', {
      drawn: { to: [0, 200], decimals: 0 },
    }),
    numberRow('axis.travel_mm', 'mm', 20, 300, 90, 'distance from the top switch down to the bottom stop'),
    numberRow('axis.overtravel_mm', 'mm', 0, 20, 2, 'distance from the top switch up to the top stop'),
    numberRow('axis.z_top_mm', 'mm', 10, 250, 60, 'height of the torch tip above the sheet datum at the top switch'),
    numberRow('axis.z_start_mm', 'mm', 0, 250, 25, 'height of the torch tip above the sheet datum at power-up'),
    numberRow('axis.fall_mm_s', 'mm/s', 0, 300, 30, 'speed at which the unpowered axis sinks; 0: it locks by itself'),
  ]),
  ...notDrawn(MEASURED, [
    numberRow(
      'head.float_travel_mm',
      'mm',
      0.05,
      5,
      0.8,
      'lift of the floating head at which the touch-off switch closes',
    ),
    numberRow('head.float_max_mm', 'mm', 0.5, 30, 6, 'lift at which the floating head meets its own stop'),
    numberRow('head.weight_N', 'N', 0.1, 50, 5, 'force with which the floating head rests on the sheet'),
    numberRow('head.bounce_ms', 'ms', 0, 200, 6, 'time for which the touch-off switch chatters after a change', {
      integer: true,
      drawn: { to: [0, 12], decimals: 0 },
    }),
    numberRow(
      'head.arm_Hz',
      'Hz',
      0,
      60,
      0,
      'resonance of the arm that carries the torch, up and down; 0: it is stiff',
      {
        assumption: true,
        drawn: { to: [0, 30], decimals: 1, none_below: 15 },
      },
    ),
    numberRow('head.arm_damping', '', 0.005, 0.5, 0.05, 'damping ratio of that resonance', {
      assumption: true,
      drawn: { to: [0.03, 0.2], decimals: 2 },
    }),
    numberRow(
      'head.breakaway_mm',
      'mm',
      0.2,
      20,
      2,
      'depth of a sideways collision that knocks the head out of its holder',
    ),
  ]),
  ...notDrawn(DIVIDER, [
    numberRow('divider.ratio', '', 10, 500, 120, 'arc volts for one volt at the tap', {
      drawn: RATIO,
    }),
    numberRow('divider.gain_error', '', -0.1, 0.1, 0, 'relative error of the ratio by the resistors’ tolerance', {
      drawn: { by: 0.005, decimals: 4 },
    }),
    numberRow('divider.top_resistors', '', 1, 12, 4, 'equal resistors in series in the upper part', { integer: true }),
    numberRow('divider.rc_ms', 'ms', 0.02, 10, 0.472, 'time constant of the tap’s resistance and filter capacitor', {
      drawn: 'follows from the parts; the arithmetic says what their tolerances do to it',
    }),
    numberRow('divider.top_kohm', 'kohm', 1, 20000, 301, 'resistance of each resistor of the upper part'),
    numberRow('divider.bottom_kohm', 'kohm', 0.05, 2000, 10.2, 'resistance of the lower resistor, across the tap'),
    numberRow('divider.capacitor_nF', 'nF', 0.01, 100000, 47, 'filter capacitor, across the tap'),
    choiceRow('divider.series', [12, 24, 48, 96, 192], 96, 'values a decade of the resistors at hand: 24 for E24'),
    numberRow('divider.tolerance_percent', '%', 0.005, 20, 0.1, 'tolerance of the resistors at hand'),
    numberRow('divider.drift_ppm_per_K', 'ppm/K', 0, 1000, 10, 'temperature coefficient of the resistors, either way'),
    numberRow('divider.capacitor_percent', '%', 0.5, 50, 10, 'tolerance of the filter capacitor'),
    numberRow('divider.resistor_W', 'W', 0.02, 20, 0.25, 'rated power of each resistor'),
    numberRow('divider.resistor_V', 'V', 10, 3000, 350, 'working voltage of each resistor, from its data sheet'),
  ]),
  ...notDrawn(CALIBRATED, [
    numberRow('isolation.gain_error', '', -0.1, 0.1, 0, 'relative gain error of the isolation stage'),
    numberRow('isolation.offset_mV', 'mV', -50, 50, 0, 'offset of the isolation stage, at the converter'),
    numberRow('isolation.bandwidth_kHz', 'kHz', 0.1, 1000, 20, 'bandwidth (-3 dB, one pole) of the isolation stage'),
    numberRow('isolation.input_kohm', 'kohm', 1, 1000000, 1250, 'input resistance of the isolation stage'),
    numberRow('isolation.input_V', 'V', 0.05, 20, 3.3, 'highest input voltage at which the isolation stage is linear'),
    numberRow('isolation.output_ohm', 'ohm', 0, 100000, 100, 'resistance between isolation stage and converter'),
    numberRow('isolation.tolerance_percent', '%', 0, 10, 0.5, 'greatest gain error of a new isolation stage'),
    numberRow('isolation.linearity_percent', '%', 0, 5, 0.02, 'greatest departure from a straight line, of full scale'),
    numberRow('isolation.drift_ppm_per_K', 'ppm/K', 0, 2000, 40, 'greatest gain drift of the isolation stage'),
    numberRow('isolation.offset_drift_uV_per_K', 'uV/K', 0, 2000, 5, 'greatest offset drift, at the converter'),
    numberRow('isolation.working_V', 'V', 10, 10000, 600, 'working voltage of its reinforced insulation'),
  ]),
  ...notDrawn(CALIBRATED, [
    numberRow('converter.bits', '', 8, 12, 12, 'resolution of the converter', { integer: true }),
    numberRow('converter.reference_V', 'V', 1, 5.5, 3.3, 'voltage at full scale'),
    numberRow('converter.zero_counts', 'counts', 0, 1000, 124, 'bias at 0 V, so that a reversed polarity can be seen', {
      integer: true,
    }),
    numberRow('converter.offset_counts', 'counts', -50, 50, 0, 'offset error of the converter'),
    numberRow('converter.gain_error', '', -0.05, 0.05, 0, 'relative gain error of the converter'),
    numberRow('converter.noise_counts', 'counts', 0, 50, 0.7, 'rms of the converter’s own noise on each reading'),
    numberRow('converter.reference_percent', '%', 0, 10, 0.2, 'tolerance of the reference'),
    numberRow('converter.reference_drift_ppm_per_K', 'ppm/K', 0, 1000, 20, 'greatest drift of the reference'),
    numberRow('converter.linearity_counts', 'counts', 0, 50, 1, 'greatest departure from a straight line'),
    numberRow(
      'converter.wide_counts',
      'counts',
      0,
      32,
      0,
      'width of its four wide codes, at 1/8, 3/8, 5/8 and 7/8 of its range (RP2040 data sheet, erratum E11: about 9)',
      { drawn: { to: [0, 9], decimals: 0, either: true } },
    ),
    numberRow('converter.zero_drift_counts_per_s', 'counts/s', -20, 20, 0, 'drift of its zero during a run', {
      drawn: { by: 0.3, decimals: 2 },
    }),
    numberRow('converter.rail_drift_percent_per_s', '%/s', -2, 2, 0, 'drift of its gain, as a sagging rail makes it', {
      drawn: { by: 0.02, decimals: 3 },
    }),
    numberRow('converter.sample_pF', 'pF', 0.1, 1000, 10, 'capacitance that a sample charges'),
    numberRow('converter.sample_us', 'us', 0.01, 100, 1, 'time for which a sample charges it'),
  ]),
  ...notDrawn(PLATE, [
    numberRow('supply.rated_A', 'A', 10, 400, 40, 'rated cutting current'),
    numberRow('supply.cut_A', 'A', 10, 400, 40, 'cutting current that is set'),
    numberRow('supply.duty_percent', '%', 5, 100, 60, 'duty cycle at the rated current, over ten minutes'),
    numberRow('supply.no_load_V', 'V', 100, 500, 280, 'voltage before the pilot arc burns', {
      drawn: { to: [240, 320], decimals: 0 },
    }),
    numberRow(
      'supply.pilot_V',
      'V',
      40,
      400,
      140,
      'voltage between electrode and work while the pilot arc burns clear of it',
      { drawn: { to: [110, 150], decimals: 0 } },
    ),
    flagRow('supply.high_frequency_start', false, 'the pilot arc is lit by high frequency, not by a moving electrode'),
    flagRow('supply.air_interlock', true, 'it does not fire without air pressure'),
    flagRow(
      'supply.raw_voltage_terminals',
      true,
      'its maker shows where the undivided arc voltage can be taken by whoever may open it',
    ),
    choiceRow('supply.phases', [1, 3], 1, 'phases of the mains rectifier', {
      drawn: { to: [1, 3], decimals: 0, either: true },
    }),
    numberRow('supply.mains_Hz', 'Hz', 45, 65, 50, 'mains frequency', {
      drawn: { to: [50, 60], decimals: 0, either: true },
    }),
    numberRow('supply.mains_V', 'V', 90, 700, 230, 'mains voltage, between phases for three'),
    numberRow('supply.breaker_A', 'A', 6, 200, 32, 'rating of the breaker of the mains circuit'),
    numberRow('supply.efficiency', '', 0.4, 1, 0.85, 'output power over input power', { assumption: true }),
    numberRow('supply.power_factor', '', 0.4, 1, 0.7, 'input power over input volt-amperes', { assumption: true }),
    flagRow('supply.trigger_latching', false, 'a released trigger leaves the arc on until it is pulled again'),
    flagRow('supply.restrikes', false, 'with the trigger still pulled, a lost arc is followed by a new pilot arc'),
    numberRow('supply.contact_delay_ms', 'ms', 0, 500, 10, 'delay of the supply’s own arc-OK contact, on and off', {
      integer: true,
    }),
  ]),
  ...notDrawn(MEASURED, [
    numberRow('table.x_steps_per_mm', 'steps/mm', 10, 3200, 160, 'steps of the X motor for one millimetre', {
      drawn: { times: RULE, decimals: 2 },
    }),
    numberRow('table.y_steps_per_mm', 'steps/mm', 10, 3200, 160, 'steps of the Y motor for one millimetre', {
      drawn: { times: RULE, decimals: 2 },
    }),
    numberRow('table.acceleration_mm_s2', 'mm/s²', 20, 20000, 500, 'acceleration of X and Y'),
    numberRow('table.braking_mm_s2', 'mm/s²', 20, 20000, 500, 'deceleration of X and Y, planned or not'),
    numberRow(
      'table.corner_velocity_step_mm_s',
      'mm/s',
      0.1,
      100,
      5,
      'greatest step of the velocity vector with which a corner is passed',
      { assumption: true },
    ),
    flagRow(
      'table.permit_watched',
      true,
      'the motion permit is watched all the time; false: only before the first motion of a contour',
    ),
    numberRow('table.run_off_mm', 'mm', 0, 50, 5, 'how far a cut may run off the sheet on purpose'),
    numberRow(
      'table.torch_off_mm_s',
      'mm/s',
      0,
      1000,
      0,
      'greatest speed at which it goes on through an M5 between two cutting moves; 0: it stops there',
      { drawn: { to: [0, 100], decimals: 0, either: true } },
    ),
    numberRow('table.rapid_mm_s', 'mm/s', 5, 1000, 100, 'speed of rapid moves'),
    numberRow('table.sheet_width_mm', 'mm', 20, 3000, 600, 'extent of the sheet along X, from the origin'),
    numberRow('table.sheet_height_mm', 'mm', 20, 2000, 400, 'extent of the sheet along Y, from the origin'),
    numberRow('table.sheet_thickness_mm', 'mm', 0.3, 40, 3, 'thickness of the sheet'),
  ]),
  ...notDrawn(PROGRAM, originRows()),
  ...notDrawn(MEASURED, [
    numberRow('firing.relay_close_ms', 'ms', 0, 100, 5, 'time from the trigger output to the closed contact', {
      integer: true,
      drawn: { by: 3, decimals: 0 },
    }),
    // At most half of the 200 ms after which a closed contact is a fault.
    numberRow('firing.relay_release_ms', 'ms', 0, 100, 8, 'time from the trigger output’s end to the open contact', {
      integer: true,
    }),
  ]),
  ...notDrawn(ARITHMETIC, [
    numberRow('firing.coil_mW', 'mW', 50, 3000, 300, 'power of the firing relay’s coil at its rated 12 V'),
  ]),
  ...notDrawn(ARITHMETIC, [
    numberRow('shop.coldest_C', 'degC', -30, 60, 10, 'coldest place and day that the box works in'),
    numberRow('shop.warmest_C', 'degC', -20, 80, 40, 'warmest inside of the box while it works'),
    numberRow('shop.calibrated_C', 'degC', -20, 60, 25, 'temperature at calibration'),
  ]),
  ...notDrawn(ARITHMETIC, [
    numberRow('meter.accuracy_percent', '%', 0, 5, 0.1, 'accuracy of the meter of the calibration, of the reading'),
    numberRow('meter.accuracy_V', 'V', 0, 5, 0.02, 'the rest of its accuracy: digits, as volts in the range used'),
  ]),
];

/** The machine as its rows give it: an invented example table. */
export const DEFAULT_MACHINE = defaultsOf(MACHINE_ROWS) as unknown as MachineConfig;
