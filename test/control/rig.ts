import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import * as wire from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { STATE_MAP } from './state-map.js';

/** Converter reading with nothing at the tap, and volts for one count: the defaults of the parameter rows. */
export const ZERO_COUNTS = 124;
export const VOLTS_PER_COUNT = 0.09668;

/** What the arc shows on this rig: the voltage at cut height, and its slope. */
export const CUT_V = 118;
export const SLOPE_V_PER_MM = 4;
export const NO_LOAD_V = 145;
/** Modes of a cut in which X and Y stand still. */
const MODES_AT_REST = ['strike', 'pierce', 'lower'];
/** The no-load voltage stands this long before the arc transfers, ms. */
const PILOT_MS = 20;

const MODULE = loadControlModule();
const IDS: ReadonlyMap<string, (typeof PARAMETER_ROWS)[number]> = new Map(PARAMETER_ROWS.map((row) => [row.name, row]));

export function parameterId(name: string): number {
  const row = IDS.get(name);
  if (row === undefined) throw new Error(`no parameter ${name}`);
  return row.id;
}

export const countsOf = (true_V: number): number =>
  Math.max(0, Math.min(4095, Math.round(ZERO_COUNTS + true_V / VOLTS_PER_COUNT)));

/**
 * A rig for the control module: lines, steps and volts are set by hand and one tick runs at a time. With
 * `plant` on, a small ideal world answers: the switch closes at the sheet, and the arc voltage follows the standoff.
 */
export class Rig {
  readonly controller = new WasmController(MODULE);
  digital_inputs = wire.INPUT_STOP_CHAIN | wire.INPUT_BREAKAWAY;
  x_steps = 0;
  y_steps = 0;
  /** What the tap reads; the plant overwrites it while it is on. */
  true_V = 0;
  /** One count of life in the readings: a reading that never changes is a stuck one. */
  alive = true;
  /** Ten readings for the next ticks instead of `true_V`. */
  counts: readonly number[] | undefined;
  plant = false;
  /** Where the torch tip would touch, mm against where the box takes Z over. */
  sheet_mm = -12;
  /** Added by the plant to what the standoff gives: a crossing, a slow feed, a wrong sign. */
  extra_V = 0;
  /** What the plant's voltage answers to the standoff, V/mm: 0 for a pilot. */
  slope_V_per_mm = SLOPE_V_PER_MM;
  /** The plant's arc burns while the trigger is on. */
  arc_burns = true;
  /** The plant's touch-off switch is closed whatever Z does. */
  touch_stuck = false;
  z_mm = 0;
  ticks = 0;
  private trigger_ms = 0;
  private readonly steps_per_mm: number;

  /** A told target, so that what a test does to the voltage is the only cause; the tests of the found one ask for it. */
  constructor(parameters: Readonly<Record<string, number>> = {}) {
    for (const [name, value] of Object.entries({ target_learned: 0, ...parameters })) this.mustSet(name, value);
    this.steps_per_mm = this.controller.parameter(parameterId('z_steps_per_mm'));
  }

  set(name: string, value: number): number {
    return this.controller.setParameter(parameterId(name), value);
  }

  private mustSet(name: string, value: number): void {
    const answer = this.set(name, value);
    if (answer !== wire.SET_DONE) throw new Error(`${name} = ${value} was refused: ${answer}`);
  }

  on(...masks: number[]): this {
    for (const mask of masks) this.digital_inputs |= mask;
    return this;
  }

  off(...masks: number[]): this {
    for (const mask of masks) this.digital_inputs &= ~mask;
    return this;
  }

  tick(): this {
    if (this.plant) this.askPlant();
    const { controller } = this;
    if (this.counts === undefined) controller.readings.fill(countsOf(this.true_V));
    else controller.readings.set(this.counts);
    if (this.alive) controller.readings[0] ^= this.ticks & 1;
    controller.digital_inputs = this.digital_inputs;
    controller.x_steps = this.x_steps;
    controller.y_steps = this.y_steps;
    controller.tick();
    if (this.owned) this.z_mm += this.z_steps / this.steps_per_mm;
    this.ticks++;
    return this;
  }

  run(ticks: number, eachTick: () => void = () => {}): this {
    for (let i = 0; i < ticks; i++) {
      this.tick();
      eachTick();
    }
    return this;
  }

  /** Runs until the box is in this mode (and stage); a rig that never gets there is an error. */
  until(mode: string, stage?: string, most_ms = 20_000): this {
    for (let i = 0; i < most_ms; i++) {
      if (this.mode === mode && (stage === undefined || this.stage === stage)) return this;
      this.tick();
    }
    throw new Error(`never came to ${mode} ${stage ?? ''}: ${this.mode} ${this.stage} ${this.fault} ${this.refusal}`);
  }

  /** Homed, key turned on after power-up, voltage near zero. */
  ready(): this {
    this.on(wire.INPUT_TOP).run(10).off(wire.INPUT_TOP);
    return this.run(30).on(wire.INPUT_KEY).run(5);
  }

  /** From rest to the end of the touch-off, with the plant's sheet. */
  touchOff(sheet_mm = this.sheet_mm): this {
    this.sheet_mm = sheet_mm;
    this.plant = true;
    this.z_mm = 0;
    return this.on(wire.INPUT_REQUEST).until('lift');
  }

  /** A ready box whose trigger has just gone on. */
  strike(): this {
    return this.ready().touchOff().until('strike');
  }

  /** A box that follows at 50 mm/s along X. */
  cutting(): this {
    this.strike().until('settle');
    this.x_steps = 8;
    return this.until('follow');
  }

  /** A fresh cut brought to this mode; hold by the external input, retract from following. */
  at(mode: string): this {
    this.ready();
    if (mode === 'seek') {
      this.plant = true;
      return this.on(wire.INPUT_REQUEST).until('seek').run(100);
    }
    this.touchOff();
    if (mode === 'lift') return this;
    if (MODES_AT_REST.includes(mode)) return this.until(mode);
    this.until('settle');
    this.x_steps = 8;
    if (mode === 'settle') return this.run(5);
    this.until('follow').run(100);
    if (mode === 'hold') this.on(wire.INPUT_HOLD);
    if (mode === 'retract') this.off(wire.INPUT_REQUEST);
    return this.until(mode);
  }

  private askPlant(): void {
    const tip_mm = this.z_mm - this.sheet_mm;
    this.digital_inputs =
      tip_mm <= 0 || this.touch_stuck
        ? this.digital_inputs | wire.INPUT_TOUCH
        : this.digital_inputs & ~wire.INPUT_TOUCH;
    this.trigger_ms = this.trigger ? this.trigger_ms + 1 : 0;
    if (this.trigger_ms === 0 || !this.arc_burns) this.true_V = 0;
    else if (this.trigger_ms <= PILOT_MS) this.true_V = NO_LOAD_V;
    else this.true_V = CUT_V + this.slope_V_per_mm * (tip_mm - 1.5) + this.extra_V;
  }

  get z_steps(): number {
    return this.controller.z_steps;
  }
  get digital_outputs(): number {
    return this.controller.digital_outputs;
  }
  get trigger(): boolean {
    return (this.digital_outputs & wire.OUTPUT_TRIGGER) !== 0;
  }
  get permit(): boolean {
    return (this.digital_outputs & wire.OUTPUT_PERMIT) !== 0;
  }
  get latched(): boolean {
    return (this.digital_outputs & wire.OUTPUT_LATCHED_STOP) !== 0;
  }
  get owned(): boolean {
    return (this.digital_outputs & wire.OUTPUT_Z_OWNED) !== 0;
  }
  get mode(): string {
    return MODE_ROWS[this.integer(wire.OUTPUT_MODE)].name;
  }
  get stage(): string {
    return STAGE_ROWS[this.integer(wire.OUTPUT_STAGE)].name;
  }
  get hold(): string {
    return HOLD_ROWS[this.integer(wire.OUTPUT_HOLD)].name;
  }
  get fault(): string {
    return FAULT_ROWS[this.integer(wire.OUTPUT_FAULT)].name;
  }
  get refusal(): string {
    return REFUSAL_ROWS[this.integer(wire.OUTPUT_REFUSAL)].name;
  }
  get standoff_mm(): number {
    return this.z_mm - this.sheet_mm;
  }

  integer(offset: number): number {
    return this.controller.output.integers[offset / 4];
  }
  real(offset: number): number {
    return this.controller.output.reals[offset / 4];
  }
  flag(mask: number): boolean {
    return (this.integer(wire.OUTPUT_FLAGS) & mask) !== 0;
  }

  /** A field of the state, by its name in state.ts. */
  state(name: string): number {
    const field = fieldOf(name);
    const view = this.stateView();
    return field.real ? view.getFloat32(field.offset, true) : view.getInt32(field.offset, true);
  }

  /** Puts a value into the state, as a disturbed memory would. */
  disturb(name: string, value: number): this {
    const field = fieldOf(name);
    if (field.real) this.stateView().setFloat32(field.offset, value, true);
    else this.stateView().setInt32(field.offset, value, true);
    return this;
  }

  private stateView(): DataView {
    const bytes = this.controller.state();
    return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  }
}

function fieldOf(name: string) {
  const field = STATE_MAP.get(name);
  if (field === undefined) throw new Error(`the state has no field ${name}`);
  return field;
}
