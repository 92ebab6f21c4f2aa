// What the world module is given of machine and world: one function a part, each coefficient derived once, here.
import { Random, READINGS_PER_TICK } from '../../base/index.js';
import { type Given, TILE_BYTES, type WorldInstance } from '../cells/index.js';
import type { MachineConfig, WorldConfig } from './config.gen.js';
import type { Faults } from './faults.js';
import { exactCosine, exactSine, lagShare, STREAM } from './series.js';

/** Everything but the sensing (`sensingOf`), which changes with the faults. Takes the maps of heat and kerf. */
export function giveAll(instance: WorldInstance, machine: MachineConfig, world: WorldConfig, seed: number): void {
  const { axis, firing, supply, converter } = machine;
  const top = axis.z_start_mm >= axis.z_top_mm ? 1 : 0;
  instance.give('axis', axisOf(machine, top));
  instance.give('plate', plateOf(machine, world, seed, instance));
  instance.give('head', headOf(machine, world));
  instance.give('firing', {
    close_ms: firing.relay_close_ms,
    release_ms: firing.relay_release_ms,
    latching: supply.trigger_latching ? 1 : 0,
  });
  instance.give('arc', arcOf(machine, world));
  instance.give('noise', noiseOf(machine, world, seed));
  instance.give('supply', { contact_delay_ms: supply.contact_delay_ms });
  instance.give('wires', { top, breakaway: 1, ...REFERENCE, x_tap: 1, y_tap: 1 });
  instance.give('kerf', kerfOf(machine, world, instance));
  for (const stream of [
    'coloured',
    'impulse',
    'spatter',
    'strike',
    'pilot',
    'bounce',
    'contact',
    'jump',
    'double',
  ] as const) {
    instance.integers.set(new Random(seed, STREAM[stream]).state, instance.at(`${stream}_random`));
  }
  // Three words of its own stream seed the generator in the readings' loop.
  const reading = new Random(seed, STREAM.reading);
  const words = [reading.next_u32(), reading.next_u32(), reading.next_u32(), 0];
  instance.integers.set(words, instance.at('reading_random'));
  instance.module.draw_impulse();
  const readings = new Uint16Array(instance.buffer, instance.input_at, READINGS_PER_TICK);
  readings.fill(converter.zero_counts);
}

const READINGS_HZ = 10000;
const TICKS_HZ = 1000;

/** The board's own reference, halved, in a converter of 12 bits. */
export const REFERENCE_COUNTS = 2048;
const REFERENCE = { reference: REFERENCE_COUNTS, reference_counts: REFERENCE_COUNTS };

function axisOf({ axis }: MachineConfig, top: number): Given<'axis'> {
  return {
    motor_mm: axis.z_start_mm,
    carriage_mm: axis.z_start_mm,
    mm_per_step: 1 / axis.steps_per_mm,
    most_steps: (axis.velocity_mm_s * axis.steps_per_mm) / 1000,
    jump_steps: ((axis.start_stop_mm_s + axis.acceleration_mm_s2 / 1000) * axis.steps_per_mm) / 1000,
    half_backlash_mm: axis.backlash_um / 2000,
    top_mm: axis.z_top_mm,
    stop_above_mm: axis.z_top_mm + axis.overtravel_mm,
    stop_below_mm: axis.z_top_mm - axis.travel_mm,
    fall_mm: axis.fall_mm_s / 1000,
    top,
  };
}

/** The tangent plane at a point stands for the surface as far as it errs by less than this. */
const TANGENT_ERROR_MM = 0.0005;

function plateOf({ table }: MachineConfig, world: WorldConfig, seed: number, instance: WorldInstance): Given<'plate'> {
  const { sheet } = world;
  const { sheet_width_mm: width_mm, sheet_height_mm: height_mm } = table;
  const wave_number = (2 * Math.PI) / sheet.wave_length_mm;
  const bow_bend = Math.abs(8 * sheet.bow_mm) / (width_mm * width_mm);
  const bend = bow_bend + sheet.wave_mm * wave_number * wave_number + bumpBend(sheet);
  // Growth where the arc has burnt: heights on a coarse grid; the sheet is not cooled during a run (assumption).
  const cell_mm = Math.max(20, width_mm / 32, height_mm / 32);
  const columns = Math.ceil(width_mm / cell_mm) + 2;
  const rows = Math.ceil(height_mm / cell_mm) + 2;
  const drawn = new Random(seed, STREAM.wave).uniform();
  return {
    width_mm,
    height_mm,
    growth_mm: sheet.heat_growth_mm_per_s / 1000,
    tilt_x: sheet.tilt_x,
    tilt_y: sheet.tilt_y,
    bow_mm: sheet.bow_mm,
    wave_mm: sheet.wave_mm,
    wave_x: exactCosine(sheet.wave_direction_deg / 360) / sheet.wave_length_mm,
    wave_y: exactSine(sheet.wave_direction_deg / 360) / sheet.wave_length_mm,
    wave_phase: sheet.wave_phase_from_seed ? drawn : sheet.wave_phase_turns,
    offcut_x_mm: sheet.offcut_x_mm,
    offcut_y_mm: sheet.offcut_y_mm,
    offcut_size_mm: sheet.offcut_size_mm,
    offcut_height_mm: sheet.offcut_height_mm,
    tangent_x_mm: Infinity,
    tangent_y_mm: Infinity,
    // A curve of curvature h'' leaves its tangent by h''·d²/2; no further than 1 mm because of the heat.
    tangent_square: Math.min(1, (2 * TANGENT_ERROR_MM) / Math.max(bend, 1e-9)),
    cell_mm,
    columns,
    rows,
    nodes_at: instance.take(columns * rows * 8),
    ...vibrationOf(world, seed),
    ...bumpsOf(world, seed),
    puddle_mm: sheet.puddle_mm,
  };
}

/** h·(1 − (r/R)²)² is bent most at its edge, by 8·h/R². */
const bumpBend = ({ bump_mm, bump_size_mm }: WorldConfig['sheet']) => (8 * bump_mm) / (bump_size_mm / 2) ** 2;

function bumpsOf({ sheet }: WorldConfig, seed: number) {
  const { bump_mm, bump_size_mm, bump_pitch_mm } = sheet;
  const place = new Random(seed, STREAM.bump);
  return {
    bump_mm,
    bump_radius_mm: Math.min(bump_size_mm, bump_pitch_mm) / 2,
    bump_pitch_mm,
    bump_x_mm: bump_pitch_mm * (place.uniform() - 1),
    bump_y_mm: bump_pitch_mm * (place.uniform() - 1),
  };
}

function vibrationOf({ sheet }: WorldConfig, seed: number) {
  const { vibration_mm, vibration_Hz } = sheet;
  if (vibration_mm === 0) return { vibration: 0, vibration_before: 0, vibration_twice_cosine: 0 };
  const phase = new Random(seed, STREAM.vibration).uniform();
  const [vibration, vibration_before, vibration_twice_cosine] = waveOf(vibration_Hz, vibration_mm, phase, TICKS_HZ);
  return { vibration, vibration_before, vibration_twice_cosine };
}

function headOf({ axis, head, table }: MachineConfig, { sheet }: WorldConfig): Given<'head'> {
  const arm_angle = (2 * Math.PI * head.arm_Hz) / TICKS_HZ;
  return {
    torch_mm: axis.z_start_mm,
    standoff_mm: axis.z_start_mm,
    float_travel_mm: head.float_travel_mm,
    float_max_mm: head.float_max_mm,
    breakaway_mm: head.breakaway_mm,
    compliance_mm: sheet.compliance_mm_per_N * head.weight_N,
    per_pitch: 1 / sheet.slat_pitch_mm,
    thickness_mm: table.sheet_thickness_mm,
    arm_spring: arm_angle * arm_angle,
    arm_damping: 2 * head.arm_damping * arm_angle,
    carriage_before_mm: axis.z_start_mm,
    bounce_ms: head.bounce_ms,
    in_holder: 1,
  };
}

function arcOf({ supply }: MachineConfig, { arc }: WorldConfig): Given<'arc'> {
  const wander_keep = 1 - lagShare(2 * Math.PI * arc.pilot_wander_Hz, TICKS_HZ);
  return {
    cut_V: arc.voltage_at_cut_V,
    cut_mm: arc.cut_standoff_mm,
    slope: arc.slope_V_per_mm,
    per_slope: 1 / arc.slope_V_per_mm,
    roll_from_mm: arc.roll_off_from_mm,
    per_roll: 1 / arc.roll_off_mm,
    per_nominal: 1 / arc.nominal_feed_mm_s,
    feed_effect_V: arc.feed_effect_V,
    feed_share: lagShare(1, arc.feed_effect_ms),
    crossing_V: arc.crossing_V,
    front_share: lagShare(1, arc.front_ms),
    reach_mm: arc.reach_mm,
    reach_ms: arc.reach_ms,
    excess_V: arc.pierce_excess_V,
    excess_keep: 1 - lagShare(1, arc.pierce_decay_ms),
    spatter_V: arc.spatter_V_rms,
    used_V: arc.wear_V_per_start * arc.used_starts + arc.wear_V_per_min * arc.used_min,
    wear_V_per_start: arc.wear_V_per_start,
    wear_V_per_ms: arc.wear_V_per_min / 60000,
    no_load_V: supply.no_load_V,
    no_load_ms: arc.no_load_ms,
    contact_end_ms: arc.no_load_ms + arc.contact_start_ms,
    pilot_V: supply.pilot_V,
    pilot_jump_V: arc.pilot_jump_V,
    pilot_jump_chance: arc.pilot_jump_V > 0 ? arc.pilot_jumps_per_s / TICKS_HZ : 0,
    pilot_wander_keep: wander_keep,
    pilot_wander_gain: arc.pilot_wander_V_rms * Math.sqrt(1 - wander_keep * wander_keep),
    pilot_persists_ms: arc.pilot_persists_ms,
    strike_ms: arc.strike_delay_ms,
    transfer_mm: arc.transfer_height_mm,
    fail_chance: arc.strike_fail_chance,
    off_ms: arc.off_ms,
    fall_keep: 1 - lagShare(1, arc.fall_ms),
    source_share: lagShare(1, arc.source_lag_ms),
    jump_V: arc.jump_rate_per_s > 0 ? arc.jump_V : 0,
    jump_mean_ms: arc.jump_rate_per_s > 0 ? TICKS_HZ / arc.jump_rate_per_s : Infinity,
    jump_wait_ms: Infinity,
    jump_ms: arc.jump_ms,
    double_V: arc.double_arcs_per_s > 0 ? arc.double_arc_V : 0,
    double_mean_ms: arc.double_arcs_per_s > 0 ? TICKS_HZ / arc.double_arcs_per_s : Infinity,
    double_wait_ms: Infinity,
    double_ms: arc.double_arc_ms,
    restrikes: supply.restrikes ? 1 : 0,
    ready: 1,
  };
}

/**
 * Last value, the one before it and twice the cosine of the step: a sine at that rate follows from them by s(n+1) =
 * 2·cos(w)·s(n) − s(n−1). Rounding adds up to less than 3e-6 of the peak in an hour (tried from 1 Hz to 300 Hz).
 */
function waveOf(frequency_Hz: number, peak: number, start_turns: number, rate_Hz = READINGS_HZ) {
  const step = frequency_Hz / rate_Hz;
  return [peak * exactSine(start_turns), peak * exactSine(start_turns - step), 2 * exactCosine(step)] as const;
}

function noiseOf(machine: MachineConfig, world: WorldConfig, seed: number): Given<'noise'> {
  const { noise } = world;
  const { supply } = machine;
  const phase = new Random(seed, STREAM.ripple);
  const ripple_Hz = supply.mains_Hz * (supply.phases === 3 ? 6 : 2);
  const rectifier = waveOf(ripple_Hz, noise.ripple_V_peak, phase.uniform());
  const inverter = waveOf(noise.inverter_kHz * 1000, noise.inverter_V_peak, phase.uniform());
  const pickup = waveOf(supply.mains_Hz, noise.pickup_V_peak, new Random(seed, STREAM.pickup).uniform());
  const coloured_keep = 1 - lagShare(2 * Math.PI * noise.coloured_corner_Hz, TICKS_HZ);
  const strikes = noise.impulse_rate_per_s > 0 && noise.impulse_V > 0;
  const mean_wait_ticks = strikes ? TICKS_HZ / noise.impulse_rate_per_s : Infinity;
  return {
    coloured_keep,
    // A first-order recursion with factor k fed by unit noise has variance 1/(1 − k²).
    coloured_gain: noise.coloured_V_rms * Math.sqrt(1 - coloured_keep * coloured_keep),
    wait_ticks: mean_wait_ticks,
    mean_wait_ticks,
    impulse_height_V: noise.impulse_V,
    impulse_readings: (noise.impulse_ms * READINGS_HZ) / 1000,
    rectifier: rectifier[0],
    rectifier_before: rectifier[1],
    rectifier_twice_cosine: rectifier[2],
    inverter: inverter[0],
    inverter_before: inverter[1],
    inverter_twice_cosine: inverter[2],
    pickup: pickup[0],
    pickup_before: pickup[1],
    pickup_twice_cosine: noise.pickup_V_peak > 0 ? pickup[2] : 0,
  };
}

const CELL_MM = 0.25;
const TILE_CELLS = 32;
/** Points probed on the leading half circle, from -75 to +75 degrees. */
const PROBE_TURNS = Array.from({ length: 7 }, (_, n) => (n * 25 - 75) / 360);

/** Takes the map; its tiles must be what is taken last, see WorldMemory.reset. */
function kerfOf({ table }: MachineConfig, { arc, sheet }: WorldConfig, instance: WorldInstance): Given<'kerf'> {
  instance.reals.set(PROBE_TURNS.map(exactCosine), instance.at('probe_cosine'));
  instance.reals.set(PROBE_TURNS.map(exactSine), instance.at('probe_sine'));
  const cells_wide = Math.ceil(table.sheet_width_mm / CELL_MM);
  const cells_high = Math.ceil(table.sheet_height_mm / CELL_MM);
  const tiles_wide = Math.ceil(cells_wide / TILE_CELLS);
  const tiles = tiles_wide * Math.ceil(cells_high / TILE_CELLS);
  const tile_of_at = instance.take(tiles * 4);
  return {
    kerf_mm: arc.kerf_mm,
    drop_mm: sheet.drop_mm,
    slow_growth: arc.kerf_slow_growth,
    per_nominal: 1 / arc.nominal_feed_mm_s,
    last_x_mm: Infinity,
    last_y_mm: Infinity,
    last_direction_x: 1,
    cells_wide,
    cells_high,
    tiles_wide,
    tile_of_at,
    pool_at: instance.take((tiles + 1) * TILE_BYTES),
    tiles: 1,
  };
}

const READING_MS = 0.1;
/** Three bytes, each uniform on 0…255, have variance 3·(256² − 1)/12; its root is the inverse of this. */
const THREE_BYTES = 1 / Math.sqrt((3 * (256 * 256 - 1)) / 12);
const ONE_BYTE = 1 / Math.sqrt((256 * 256 - 1) / 12);
const MIDDLE_OF_ONE = 0.5 * 255;

/** The divider as the faults leave it: volts at the tap for one at the arc, and the filter's time constant (0: none). */
function tapOf({ divider }: MachineConfig, faults: Faults): { readonly tap_per_V: number; readonly filter_ms: number } {
  const { ratio, top_resistors, rc_ms, gain_error } = divider;
  let tap_per_V = 1 / (ratio * (1 + gain_error));
  let filter_ms = rc_ms;
  if (faults.has('resistor-top-short')) {
    const shorted = Math.min(top_resistors, Math.round(faults.valueOf('resistor-top-short')));
    tap_per_V = 1 / (1 + ((ratio - 1) * (top_resistors - shorted)) / top_resistors);
  }
  if (faults.has('resistor-bottom-open')) {
    tap_per_V = 1;
    // The capacitor now charges through the upper part alone, which is (ratio − 1) lower resistors; the
    // two in parallel were (ratio − 1)/ratio of one, so the time constant grows by the ratio.
    filter_ms = rc_ms * ratio;
  }
  if (faults.has('filter-capacitor-open')) filter_ms = 0;
  if (faults.has('reversed-leads')) tap_per_V = -tap_per_V;
  const no_lead = faults.has('open-lead') || faults.has('resistor-top-open');
  if (no_lead || faults.has('resistor-bottom-short') || faults.has('shorted-capacitor')) tap_per_V = 0;
  if (faults.has('shorted-capacitor')) filter_ms = 0;
  return { tap_per_V, filter_ms };
}

/** The one code that the converter repeats; -1: it converts. */
function forcedCode(faults: Faults, most: number): number {
  if (faults.has('dead-converter')) return 0;
  if (!faults.has('stuck-code')) return -1;
  return Math.max(0, Math.min(most, Math.round(faults.valueOf('stuck-code'))));
}

/** The coefficients of the readings' loop. */
export function sensingOf(machine: MachineConfig, { noise }: WorldConfig, faults: Faults): Given<'sensing'> {
  const { isolation, converter, divider } = machine;
  const { tap_per_V, filter_ms } = tapOf(machine, faults);
  const codes = 2 ** converter.bits;
  const counts_per_V = (codes / converter.reference_V) * (1 + converter.gain_error);
  const isolation_share = lagShare(2 * Math.PI * isolation.bandwidth_kHz * READING_MS, 1);
  const isolation_gain = 1 + isolation.gain_error;
  const converter_noise = converter.noise_counts * ONE_BYTE;
  // The two low passes attenuate the inverter's ripple itself; its alias is made by the converter alone.
  const through_tap = 2 * Math.PI * noise.inverter_kHz * filter_ms;
  const through_isolation = noise.inverter_kHz / isolation.bandwidth_kHz;
  return {
    tap_per_V,
    white: noise.white_V_rms_per_tick * Math.sqrt(READINGS_PER_TICK) * THREE_BYTES * tap_per_V,
    share: lagShare(READING_MS, filter_ms),
    isolation_share: isolation_share * isolation_gain,
    isolation_keep: 1 - isolation_share,
    isolation_add: (isolation_share * isolation.offset_mV) / 1000,
    counts_per_V,
    // One half is added so that cutting off the fraction rounds.
    zero: converter.zero_counts + converter.offset_counts - converter_noise * MIDDLE_OF_ONE + 0.5,
    converter_noise,
    most: codes - 1,
    ratio: divider.ratio,
    inverter:
      (tap_per_V * isolation_gain * counts_per_V) /
      Math.sqrt((1 + through_tap * through_tap) * (1 + through_isolation * through_isolation)),
    zero_drift: converter.zero_drift_counts_per_s / TICKS_HZ,
    gain_drift: converter.rail_drift_percent_per_s / 100 / TICKS_HZ,
    wide_half: converter.wide_counts / 2,
    lead: 1,
    forced_code: forcedCode(faults, codes - 1),
  };
}
