import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import {
  FILTER_AT,
  FILTER_FIELDS,
  REGULATOR_AT,
  REGULATOR_FIELDS,
  SEQUENCE_AT,
  SEQUENCE_FIELDS,
} from '../../firmware/wire/state-fields.gen.js';
import type { WasmController } from '../run/controller/index.js';

/** A class of arc voltage: readings that all stand at one count, and the words for it. */
export interface VoltageClass {
  readonly name: string;
  readonly counts: number;
}

/** With the default calibration: 124 counts at 0 V, 96.68 mV a count. */
export const VOLTAGES: readonly VoltageClass[] = [
  { name: 'negative', counts: 40 },
  { name: 'nothing', counts: 124 },
  { name: 'below the arc window', counts: 538 },
  { name: 'at the target', counts: 1344 },
  { name: 'a long arc', counts: 1489 },
  { name: 'pilot or no-load voltage', counts: 1779 },
  { name: 'above the arc window', counts: 2710 },
  { name: 'the top of the converter', counts: 4095 },
];
export const NEGATIVE = 0;
export const NOTHING = 1;
export const BELOW = 2;
export const TARGET = 3;
export const LONG = 4;
export const PILOT = 5;
export const ABOVE = 6;
export const TOP = 7;

/** The explored box has the default of each parameter, but for the two that make the kinds. */
const byDefault = (name: string): number => {
  const row = PARAMETER_ROWS.find((one) => one.name === name);
  if (row === undefined) throw new Error(`the box has no parameter ${name}`);
  return row.default;
};

/** Heights above the sheet and bounds of Z, in steps. */
export const STEPS_PER_MM = byDefault('z_steps_per_mm');
export const PIERCE_STEPS = byDefault('pierce_height_mm') * STEPS_PER_MM;
export const CUT_STEPS = byDefault('cut_height_mm') * STEPS_PER_MM;
/** Below `REST_V` the voltage counts as gone; the arc window. */
export const REST_V = byDefault('rest_V');
export const ARC_LOW_V = byDefault('arc_low_V');
export const ARC_HIGH_V = byDefault('arc_high_V');
export const VOLTS_PER_COUNT = byDefault('reading_gain_mV') / 1000;
/** How long an arc may take to count as lost, ticks. */
export const ARC_OFF_MS = byDefault('arc_off_ms');

/** Strikes in a contour: the first and the attempts after it. */
export const STRIKES_MOST = byDefault('strike_retries') + 1;

/** X and Y: at rest; running at the cut's feed; slower than that. */
export const FEEDS = ['at rest', 'at the feed of the cut', 'slower than the feed of the cut'] as const;
export const FEED_REST = 0;
export const FEED_RUNNING = 1;
export const FEED_FALLEN = 2;
/** Steps of a running X in a tick: 50 mm/s at 160 steps/mm. */
export const RUNNING_STEPS = 8;

const word = (list: readonly string[], at: number, name: string): number => {
  const index = list.indexOf(name);
  if (index < 0) throw new Error(`the module's state has no ${name}`);
  return at / 4 + index;
};

/** Place of a field in the state region, in words of four bytes. */
export const sequenceWord = (name: (typeof SEQUENCE_FIELDS)[number]): number =>
  word(SEQUENCE_FIELDS, SEQUENCE_AT, name);
export const regulatorWord = (name: (typeof REGULATOR_FIELDS)[number]): number =>
  word(REGULATOR_FIELDS, REGULATOR_AT, name);

const TEMPLATE_TICKS = 60;
/** From then on the mean is one of readings that are all alike. */
const ALIKE_TICKS = 20;
const RUNNING_MM_S = 50;
const FALLEN_MM_S = 10;

/** Everything in the state region behind the sequence, as it is after a while at one voltage and one feed. */
export type Templates = readonly (readonly Int32Array[])[];

/** One template for each voltage and feed, taken from the module itself. */
export function makeTemplates(controller: WasmController): Templates {
  const templates = VOLTAGES.map(({ counts }) => FEEDS.map((_, feed) => template(controller, counts, feed)));
  controller.powerUp();
  return templates;
}

function forgetPickup(state: Uint8Array): void {
  const reals = new Float32Array(state.buffer, state.byteOffset, state.length / 4);
  const at = (name: (typeof FILTER_FIELDS)[number]) => word(FILTER_FIELDS, FILTER_AT, name);
  reals[at('pickup_V')] = 0;
  reals[at('pickup_quarter_V')] = 0;
  reals[at('steady_V')] = reals[at('mean_V')];
}

function template(controller: WasmController, counts: number, feed: number): Int32Array {
  controller.powerUp();
  controller.readings.fill(counts);
  controller.digital_inputs = 0;
  controller.x_steps = feed === FEED_REST ? 0 : RUNNING_STEPS;
  controller.y_steps = 0;
  // In short turns, so that no fault is raised for the voltage at rest; the filters run on.
  for (let tick = 0; tick < TEMPLATE_TICKS; tick++) {
    controller.tick();
    // What came of the step to this voltage passes for mains pickup, and would swing for seconds.
    if (tick === ALIKE_TICKS || tick === ALIKE_TICKS + 1) forgetPickup(controller.state());
  }
  const state = controller.state();
  const reals = new Float32Array(state.buffer, state.byteOffset, state.length / 4);
  const put = (name: (typeof REGULATOR_FIELDS)[number], value: number) => {
    reals[regulatorWord(name)] = value;
  };
  if (feed !== FEED_REST) put('running_mm_s', RUNNING_MM_S);
  if (feed === FEED_FALLEN) {
    put('x_feed_mm_s', FALLEN_MM_S);
    put('feed_mm_s', FALLEN_MM_S);
  }
  put('velocity_mm_s', 0);
  put('pending', 0);
  return new Int32Array(state.slice(REGULATOR_AT).buffer);
}
