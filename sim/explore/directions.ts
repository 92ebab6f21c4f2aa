import {
  INPUT_BREAKAWAY,
  INPUT_HOLD,
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_REST,
  INPUT_STOP_CHAIN,
  INPUT_SUPPLY_CONTACT,
  INPUT_TOP,
  INPUT_TOUCH,
} from '../../firmware/wire/layout.gen.js';
import {
  ABOVE,
  BELOW,
  FEED_FALLEN,
  FEED_REST,
  FEED_RUNNING,
  LONG,
  NEGATIVE,
  NOTHING,
  PILOT,
  STEPS_PER_MM,
  TARGET,
  TOP,
} from './world.js';

/** What can happen in a direction: inputs that are on, words of the state that are set, and how to say it. */
export interface Option {
  /** Text in a counterexample; empty: the usual thing, not worth a word. */
  readonly say: string;
  readonly digital_inputs?: number;
  readonly voltage?: number;
  readonly feed?: number;
  /** Integers of the sequence. */
  readonly whole?: Readonly<Record<string, number>>;
  /** Reals of the regulator. */
  readonly real?: Readonly<Record<string, number>>;
  /** Raises a fault before the mode's own step. */
  readonly faulting?: true;
}
export type Direction = readonly Option[];

const SWITCH = 3;
/** More than the limit of any timer. */
const OVER = 2_000_000;

/** The first option is the usual one: a counterexample begins with what needs no word. */
const usualFirst = (options: readonly [Option, Option]): Direction =>
  options[0].say === '' ? options : [options[1], options[0]];
const line = (bit: number, on: string, off: string): Direction =>
  usualFirst([{ say: off }, { say: on, digital_inputs: bit }]);
/** A debounced switch that has settled: how long it chattered does not matter. */
const switched = (bit: number, name: string, on: string, off: string): Direction =>
  usualFirst([
    { say: off, whole: { [`${name}_count`]: 0, [name]: 0 } },
    { say: on, digital_inputs: bit, whole: { [`${name}_count`]: SWITCH, [name]: 1 } },
  ]);
const timer = (name: string, say: string, over: number = OVER): Direction => [
  { say: '' },
  { say, whole: { [name]: over } },
];
const voltages = (...list: number[]): Direction => list.map((voltage) => ({ say: '', voltage }));
const feeds = (...list: number[]): Direction => list.map((feed) => ({ say: '', feed }));

export const KEY = line(INPUT_KEY, '', 'the key is off');
export const REQUEST = line(INPUT_REQUEST, '', 'the request is off');
export const STOP_CHAIN = line(INPUT_STOP_CHAIN, '', 'the stop chain is open');
export const SEATED = switched(INPUT_BREAKAWAY, 'breakaway', '', 'the torch is out of its holder');
export const AT_TOP = switched(INPUT_TOP, 'top', 'Z is at the top switch', '');
export const TOUCHING = switched(INPUT_TOUCH, 'touch', 'the touch-off switch is closed', '');
/** After the touch-off: the switch may chatter once more, and once it has been closed for its time it is a contact. */
const CONTACT_MADE: Option = {
  say: 'the touch-off switch has been closed for its time',
  digital_inputs: INPUT_TOUCH,
  whole: { touch_count: SWITCH, touch: 1, contact_ms: 20 },
  faulting: true,
};
export const TOUCHED: Direction = [...TOUCHING, CONTACT_MADE];
export const HELD: Direction = [
  ...switched(INPUT_HOLD, 'external', 'the hold input is on', ''),
  {
    say: 'the hold input is on and has used up its path',
    digital_inputs: INPUT_HOLD,
    whole: { external_count: SWITCH, external: 1 },
    real: { external_path_mm: 2000 },
  },
];
export const OVERRUN = line(INPUT_OVERRUN, 'the tick before was late', '');
export const RESTING = line(INPUT_REST, 'the outputs are to rest', '');
/** A dead converter is no direction: its readings are those of the top. */
const CONTACT_CLOSED: Option = { say: 'the firing contact is closed', digital_inputs: INPUT_RELAY };
const CONTACT_LASTED: Option = {
  say: 'the firing contact has been closed for its time',
  digital_inputs: INPUT_RELAY,
  whole: { relay_ms: 200 },
};
export const RESET: Direction = [
  { say: '' },
  { say: 'reset is pressed', digital_inputs: INPUT_RESET },
  { say: 'reset is held', digital_inputs: INPUT_RESET, whole: { reset_before: 1 } },
  { say: 'reset is pressed with the firing contact closed', digital_inputs: INPUT_RESET | INPUT_RELAY },
];
export const ALL_VOLTAGES = voltages(NOTHING, NEGATIVE, BELOW, TARGET, LONG, PILOT, ABOVE, TOP);
/**
 * With the trigger off it counts whether there is voltage, and for how long it has been there since it should have
 * fallen.
 */
export const LEFT_VOLTAGES = voltages(NOTHING, NEGATIVE, BELOW, TOP);
export const AFTER_TRIGGER: Direction = [
  { say: '' },
  CONTACT_LASTED,
  { say: 'voltage has been there for its time', whole: { trigger_off_ms: OVER, at_rest_ms: 20 } },
  { say: 'voltage has been there for its time, though not since it should have fallen', whole: { at_rest_ms: 20 } },
];
/** The debounce of the arc: in between, at its upper end, at its lower end. */
export const ARC_COUNT: Direction = [
  { say: '', whole: { arc_count: 1500 } },
  { say: 'for long enough', whole: { arc_count: 3000 } },
  { say: 'for too long', whole: { arc_count: 0 } },
];
/** Motion without a permit counts once it has lasted for its time; before that it is as if there were none. */
export const STRAY: Direction = [
  { say: '', feed: FEED_REST },
  { say: 'motion has gone on for its time', feed: FEED_RUNNING, whole: { stray_ms: OVER } },
];
/** Motion before the permit, likewise. */
export const EARLY: Direction = [
  { say: '', feed: FEED_REST },
  { say: 'the table moves', feed: FEED_RUNNING },
  { say: 'the table has moved for its time', feed: FEED_RUNNING, whole: { early_ms: 25 }, faulting: true },
];
/** The timers of these two checks run only at their own voltage, and begin again at any other. */
export const TRIGGER_VOLTAGES: Direction = [
  ...ALL_VOLTAGES,
  { say: 'for ten ticks', voltage: NEGATIVE, whole: { reversed_ms: 10 }, faulting: true },
];
export const CUTTING_VOLTAGES: Direction = [
  ...TRIGGER_VOLTAGES,
  { say: 'for five ticks', voltage: TOP, whole: { saturated_ms: 5 }, faulting: true },
];
export const STUCK: Direction = [
  { say: '' },
  { say: 'the reading has not changed for its time', whole: { stuck_readings: 9000 }, faulting: true },
];
export const ARC_TIME = timer('arc_ms', 'the arc has burnt for its longest time', 2_000_000_000);
export const TIMER = timer('timer', 'the time of the mode is over');
export const MOVING: Direction = [
  { say: '' },
  { say: '', real: { velocity_mm_s: 20 } },
  { say: '', real: { velocity_mm_s: -20 } },
];
const Z_TOUCHED = -8000;
const height = (mm: number, say: string): Option => ({
  say,
  whole: { z: Z_TOUCHED + mm * STEPS_PER_MM, z_touched: Z_TOUCHED },
});
/** Heights that matter; with the default 400 steps a millimetre, pierce height 3 mm and cut height 1.5 mm. */
export const HEIGHTS: Direction = [
  height(8, ''),
  height(3, 'Z is at pierce height'),
  height(1.5, 'Z is at cut height'),
  { say: 'Z is at its lower bound', whole: { z: Z_TOUCHED - 15 * STEPS_PER_MM, z_touched: Z_TOUCHED } },
  { say: 'Z is where the box took it over', whole: { z: 0, z_touched: Z_TOUCHED } },
];
/**
 * Z in a stroke: at rest at pierce height, going up, at the top, coming down with room to stop in. That no stroke leads to another
 * speed at another height is what the recorded runs show.
 */
const stroke = (mm: number, velocity_mm_s: number, say: string): Option => ({
  ...height(mm, say),
  real: { velocity_mm_s },
});
export const STROKE: Direction = [
  stroke(3, 0, ''),
  stroke(4.45, 20, 'Z is near the top of a stroke'),
  stroke(3.2, -20, 'Z is near the foot of a stroke'),
  stroke(3.7, -20, 'Z is on its way down'),
];
/**
 * What the strokes say. The sums of the fit are none of the state that is remembered: each verdict is possible in every tick,
 * more than the box has.
 */
export const VERDICT: Direction = [
  { say: '' },
  { say: 'the voltage answers to the strokes', whole: { verdict: 1 } },
  { say: 'the voltage does not answer to the strokes', whole: { verdict: 2 } },
  { say: 'what the voltage answers is no arc’s, or nothing certain', whole: { verdict: 3 } },
];
export const FIRED = timer('fired_ms', 'a proof may not begin again');
export const RETURN: Direction = [
  HEIGHTS[0],
  HEIGHTS[4],
  { say: 'Z is a step below where the box took it over', whole: { z: -1, z_touched: Z_TOUCHED } },
  {
    say: 'the touch-off switch is closed 6 mm higher',
    digital_inputs: INPUT_TOUCH,
    whole: { z: Z_TOUCHED, z_touched: Z_TOUCHED, z_contact: Z_TOUCHED - 2400, touch: 1, touch_count: SWITCH },
  },
];
/** The sheet found far below, or nearer than pierce height. */
export const SEARCH: Direction = [
  { say: '', whole: { z: Z_TOUCHED, z_contact: Z_TOUCHED, z_touched: Z_TOUCHED } },
  { say: 'the sheet is nearer than pierce height', whole: { z: -400, z_contact: -400, z_touched: -400 } },
  { say: 'Z has searched its whole travel', whole: { z: -24_000, z_contact: -24_000 } },
  { say: 'Z has lifted off by more than the switch needs', whole: { z: Z_TOUCHED, z_contact: Z_TOUCHED - 2400 } },
];
export const WRONG_WAY: Direction = [
  { say: '' },
  {
    say: 'the error has grown against the motion of Z',
    whole: { wrong_ms: 60 },
    real: { velocity_mm_s: -5, wrong_travel_mm: 5, wrong_start_mm: 0.55, wrong_sheet_mm: 1000, error_filtered_mm: 3 },
  },
];
/** The bounds, and a tick less. */
export const KEY_TIME: Direction = [
  { say: '' },
  { say: 'the key has been off for 29 ms', whole: { key_off_ms: 29 } },
  { say: 'the key has been off for 30 ms', whole: { key_off_ms: 30 } },
];
export const REQUEST_TIME: Direction = [
  { say: '' },
  { say: 'the request has been off for 28 ms', whole: { request_off_ms: 28 } },
  { say: 'the request has been off for 30 ms', whole: { request_off_ms: 30 } },
];

export const ALWAYS: readonly Direction[] = [KEY, REQUEST, STOP_CHAIN, SEATED, OVERRUN, RESTING];
/** Over a table at rest its timer runs; any motion begins it again. */
const STANDING: Option = {
  say: 'the table has stood still for its time',
  feed: FEED_REST,
  whole: { standstill_ms: OVER },
  faulting: true,
};
export const FEED_OF_A_CUT: Direction = [...feeds(FEED_RUNNING, FEED_FALLEN), STANDING];
export const FEED_OF_A_START: Direction = [...feeds(FEED_REST, FEED_RUNNING), STANDING];

export const TABLE_MOVED: Direction = [{ say: '' }, { say: 'the table has moved', real: { settle_path_mm: 1 } }];
/** In settle: a voltage that no arc rises to, whatever it was when the torch came to stand. */
export const STANDING_VOLTAGE: Direction = [
  { say: '' },
  { say: 'the voltage has been too high for its time', whole: { crossing_ms: 5000 }, real: { standing_V: -1000 } },
];
export const LIMITED: Direction = [{ say: '' }, { say: 'limited speed', whole: { limited_ms: 300 } }];
export const CROSSING: Direction = [
  { say: '' },
  { say: 'the crossing has lasted for its time', whole: { crossing_ms: 5000 } },
  { say: 'the crossing’s voltage is gone for its time', whole: { crossing_back_ms: 4 } },
];
export const HOLD_PATH: Direction = [
  { say: '' },
  { say: 'the hold has used up its path', real: { hold_path_mm: 100 } },
];

/** The supply's contact, if it has one: an input like the others, about the arc. */
export const CONTACT = line(INPUT_SUPPLY_CONTACT, '', 'the supply’s contact is open');

/** Everything that can be chosen in any mode, for the guard and for a test that choose anything at all. */
export const ALL_DIRECTIONS: readonly Direction[] = [
  ...ALWAYS,
  RESET,
  AT_TOP,
  HELD,
  TOUCHED,
  CUTTING_VOLTAGES,
  [{ say: '' }, CONTACT_CLOSED, CONTACT_LASTED],
  AFTER_TRIGGER,
  ARC_COUNT,
  STRAY,
  EARLY,
  STUCK,
  ARC_TIME,
  TIMER,
  MOVING,
  HEIGHTS,
  SEARCH,
  KEY_TIME,
  REQUEST_TIME,
  [...feeds(FEED_REST, FEED_RUNNING, FEED_FALLEN), STANDING],
  TABLE_MOVED,
  STANDING_VOLTAGE,
  LIMITED,
  WRONG_WAY,
  CROSSING,
  HOLD_PATH,
  STROKE,
  VERDICT,
  FIRED,
];
