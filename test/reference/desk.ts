import { MODE_FOLLOW, MODE_REST, PARAMETER_COUNT } from '../../firmware/wire/codes.gen.js';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  INPUT_TOP,
  INPUT_TOUCH,
  OUTPUT_FAULT,
  OUTPUT_HOLD,
  OUTPUT_MODE,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_VELOCITY_MM_S,
  READINGS_PER_TICK,
} from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';

const module = loadControlModule();

/** Start of Z above the sheet, mm; far enough for a long way up and down. */
const START_MM = 40;
const NO_LOAD_TICKS = 60;
/** At most 3 mm above cut height this stays on the converter's scale. */
const PROOF_SLOPE_V_PER_MM = 3;
/** Steps of X a tick: 50 mm/s at the default 160 steps/mm; settling needs motion. */
const X_STEPS = 8;

/**
 * An arc of 30 V that is worth 12 V/mm, read at 10 mV a count, so that one count is 0.8 µm: the arithmetic is
 * compared, not the converter. Everything that is not the linear loop is off.
 */
export const DESK_BOX: Readonly<Record<string, number>> = {
  ...Object.fromEntries(PARAMETER_ROWS.map((row) => [row.name, row.default])),
  reading_gain_mV: 10,
  reading_zero_counts: 0,
  spike_V: 0,
  stuck_ms: 0,
  rest_V: 5,
  arc_low_V: 20,
  target_V: 30,
  transfer_V: 40,
  arc_slope_V_per_mm: 12,
  feed_effect_V: 0,
  feed_effect_learned: 0,
  target_learned: 0,
  corner_fraction: 0,
  slope_limit: 0.5,
  crossing_rise_mm_per_s: 0,
  crossing_band_mm: 0,
  reversal_um: 0,
  pierce_ms: 50,
  floor_allowance_mm: 5,
  travel_mm: 200,
  seek_travel_mm: 60,
  dive_mm: 50,
};

/** The built module, cutting along a line over an ideal sheet: voltage = target + slope · error, through an RC. */
export class Desk {
  readonly controller = new WasmController(module);
  z_mm = START_MM;
  /** Height of the sheet at the end of the tick; moves evenly during it. */
  sheet_mm = 0;
  /** NaN: the arc follows the standoff. Else the voltage stands at target + slope · this. */
  fixed_error_mm = Number.NaN;
  private readonly box: Readonly<Record<string, number>>;
  private readonly share: number;
  private readonly slope_V_per_mm: number;
  private readonly readings = new Uint16Array(READINGS_PER_TICK);
  private tap_V = 0;
  private burning_ticks = 0;
  private last_sheet_mm = 0;

  /** @param slope_ratio true over believed V/mm. */
  constructor(box: Readonly<Record<string, number>>, rc_ms: number, slope_ratio = 1) {
    this.box = box;
    this.share = 1 - Math.exp(-1 / READINGS_PER_TICK / rc_ms);
    this.slope_V_per_mm = box.arc_slope_V_per_mm * slope_ratio;
    for (let id = 0; id < PARAMETER_COUNT; id++) {
      const { name } = PARAMETER_ROWS[id];
      const refused = this.controller.setParameter(id, box[name]);
      if (refused !== 0) throw new Error(`the module refuses ${name} = ${box[name]}: ${refused}`);
    }
    this.run(40, INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP);
    this.run(5, INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_KEY);
  }

  /** From the request to the first tick of follow. */
  follow(): this {
    for (let tick = 0; tick < 20_000; tick++) {
      this.tick();
      if (this.mode === MODE_FOLLOW) return this;
    }
    const { integers } = this.controller.output;
    throw new Error(`no follow: mode ${this.mode} (rest is ${MODE_REST}), fault ${integers[OUTPUT_FAULT / 4]}`);
  }

  /** One tick of the box, then one millisecond of the desk. */
  tick(lines = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_KEY | INPUT_REQUEST): void {
    const { controller } = this;
    // A voltage that stands, whatever the torch does, has no sheet under it that could be touched.
    const touches = Number.isNaN(this.fixed_error_mm) && this.z_mm <= this.sheet_mm;
    controller.digital_inputs = lines | (touches ? INPUT_TOUCH : 0);
    controller.x_steps = (controller.digital_outputs & OUTPUT_PERMIT) === 0 ? 0 : X_STEPS;
    controller.readings.set(this.readings);
    controller.tick();
    const before_mm = this.z_mm - this.last_sheet_mm;
    this.z_mm += controller.z_steps / this.box.z_steps_per_mm;
    const after_mm = this.z_mm - this.sheet_mm;
    this.last_sheet_mm = this.sheet_mm;
    const live = (controller.digital_outputs & OUTPUT_TRIGGER) !== 0;
    this.burning_ticks = live ? this.burning_ticks + 1 : 0;
    for (let n = 1; n <= READINGS_PER_TICK; n++) {
      const standoff_mm = before_mm + ((after_mm - before_mm) * n) / READINGS_PER_TICK;
      this.tap_V += this.share * (this.source_V(standoff_mm) - this.tap_V);
      const counts = Math.round((this.tap_V * 1000) / this.box.reading_gain_mV) + this.box.reading_zero_counts;
      this.readings[n - 1] = Math.max(0, Math.min(4095, counts));
    }
  }

  /** Standoff less cut height, mm. */
  get error_mm(): number {
    return this.z_mm - this.sheet_mm - this.box.cut_height_mm;
  }

  get velocity_mm_s(): number {
    return this.controller.output.reals[OUTPUT_Z_VELOCITY_MM_S / 4];
  }

  get mode(): number {
    return this.controller.output.integers[OUTPUT_MODE / 4];
  }

  get hold(): number {
    return this.controller.output.integers[OUTPUT_HOLD / 4];
  }

  private run(ticks: number, lines: number): void {
    for (let n = 0; n < ticks; n++) this.tick(lines);
  }

  private source_V(standoff_mm: number): number {
    if (this.burning_ticks === 0) return 0;
    if (this.burning_ticks < NO_LOAD_TICKS) return this.box.transfer_V + 0.9;
    const target_V = this.box.target_V;
    if (!Number.isNaN(this.fixed_error_mm)) return target_V + this.slope_V_per_mm * this.fixed_error_mm;
    // Piercing is off the converter's scale at that slope: until the permit the arc answers the strokes of its proof with less.
    const permitted = (this.controller.digital_outputs & OUTPUT_PERMIT) !== 0;
    const slope_V_per_mm = permitted ? this.slope_V_per_mm : PROOF_SLOPE_V_PER_MM;
    const volts = target_V + slope_V_per_mm * (standoff_mm - this.box.cut_height_mm);
    return Math.min(volts, this.box.transfer_V - 0.5);
  }
}
