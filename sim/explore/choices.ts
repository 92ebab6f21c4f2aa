import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_PIERCE,
  MODE_REST,
  MODE_RETRACT,
  MODE_SEEK,
  MODE_SETTLE,
  MODE_STRIKE,
  STAGE_RISE,
  STAGE_WAIT,
} from '../../firmware/wire/codes.gen.js';
import {
  LINE_BREAKAWAY,
  LINE_HOLD,
  LINE_KEY,
  LINE_OVERRUN,
  LINE_REQUEST,
  LINE_RESET,
  LINE_STOP_CHAIN,
  LINE_SUPPLY_CONTACT,
  LINE_TOP,
  LINE_TOUCH,
} from '../../firmware/wire/layout.js';
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
  regulatorWord,
  sequenceWord,
  TARGET,
  TOP,
} from './world.js';

/** What can happen in a direction: lines that are on, words of the state that are set, and how to say it. */
interface Option {
  /** Said in a story; empty: the usual thing, not worth a word. */
  readonly say: string;
  readonly lines?: number;
  readonly voltage?: number;
  readonly feed?: number;
  /** Integers of the sequence. */
  readonly whole?: Readonly<Record<string, number>>;
  /** Reals of the regulator. */
  readonly real?: Readonly<Record<string, number>>;
}
type Direction = readonly Option[];

const SWITCH = 3;
/** More than any timer asks for. */
const OVER = 2_000_000;

const line = (bit: number, on: string, off: string): Direction => [{ say: off }, { say: on, lines: bit }];
/** A debounced switch, already decided: how long it chattered does not matter. */
const switched = (bit: number, name: string, on: string, off: string): Direction => [
  { say: off, whole: { [`${name}_count`]: 0, [name]: 0 } },
  { say: on, lines: bit, whole: { [`${name}_count`]: SWITCH, [name]: 1 } },
];
const timer = (name: string, say: string, over: number = OVER): Direction => [
  { say: '' },
  { say, whole: { [name]: over } },
];
const voltages = (...list: number[]): Direction => list.map((voltage) => ({ say: '', voltage }));
const feeds = (...list: number[]): Direction => list.map((feed) => ({ say: '', feed }));

const KEY = line(LINE_KEY, '', 'the key is off');
const REQUEST = line(LINE_REQUEST, '', 'the request is off');
const STOP_CHAIN = line(LINE_STOP_CHAIN, '', 'the stop chain is open');
const SEATED = switched(LINE_BREAKAWAY, 'breakaway', '', 'the torch is out of its holder');
const AT_TOP = switched(LINE_TOP, 'top', 'Z is at the top switch', '');
const TOUCHING = switched(LINE_TOUCH, 'touch', 'the touch-off switch is closed', 'the touch-off switch is open');
const HELD = switched(LINE_HOLD, 'external', 'the hold input is on', '');
const OVERRUN = line(LINE_OVERRUN, 'the tick before was late', '');
const RESET: Direction = [
  { say: '' },
  { say: 'reset is pressed', lines: LINE_RESET },
  { say: 'reset is held', lines: LINE_RESET, whole: { reset_before: 1 } },
];
const ALL_VOLTAGES = voltages(NEGATIVE, NOTHING, BELOW, TARGET, LONG, PILOT, ABOVE, TOP);
/** After the trigger went off: not long enough, long enough, and voltage has been there long enough. */
const AFTER_TRIGGER: Direction = [
  { say: '' },
  { say: 'the time for the voltage to fall is over', whole: { trigger_off_ms: OVER } },
  { say: 'voltage has been there for its time', whole: { trigger_off_ms: OVER, at_rest_ms: 20 } },
];
/** The debounce of the arc: in between, at its upper end, at its lower end. */
const ARC_COUNT: Direction = [
  { say: '', whole: { arc_count: 1500 } },
  { say: 'for long enough', whole: { arc_count: 3000 } },
  { say: 'for too long', whole: { arc_count: 0 } },
];
const STRAY = timer('stray_ms', 'motion has gone on for its time');
/** The times of these two checks run only at their own voltage, and begin anew at any other. */
const TRIGGER_VOLTAGES: Direction = [
  ...ALL_VOLTAGES,
  { say: 'for ten ticks', voltage: NEGATIVE, whole: { reversed_ms: 10 } },
];
const CUTTING_VOLTAGES: Direction = [
  ...TRIGGER_VOLTAGES,
  { say: 'for five ticks', voltage: TOP, whole: { saturated_ms: 5 } },
];
const STUCK = timer('stuck_readings', 'the reading has not changed for its time', 9000);
const ARC_TIME = timer('arc_ms', 'the arc has burnt for its longest time', 2_000_000_000);
const TIMER = timer('timer', 'the time of the mode is over');
const MOVING: Direction = [
  { say: '' },
  { say: '', real: { velocity_mm_s: 20 } },
  { say: '', real: { velocity_mm_s: -20 } },
];
const Z_TOUCHED = -8000;
const STEPS_PER_MM = 400;
const height = (mm: number, say: string): Option => ({
  say,
  whole: { z: Z_TOUCHED + mm * STEPS_PER_MM, z_touched: Z_TOUCHED },
});
/** Heights that matter; with the default 400 steps a millimetre, pierce height 3 mm and cut height 1.5 mm. */
const HEIGHTS: Direction = [
  height(8, ''),
  height(3, 'Z is at pierce height'),
  height(1.5, 'Z is at cut height'),
  { say: 'Z is at its lower bound', whole: { z: Z_TOUCHED - 15 * STEPS_PER_MM, z_touched: Z_TOUCHED } },
  { say: 'Z is where the box took it over', whole: { z: 0, z_touched: Z_TOUCHED } },
];
const RETURN: Direction = [HEIGHTS[0]!, HEIGHTS[4]!];
/** The sheet found far below, or nearer than pierce height. */
const SEARCH: Direction = [
  { say: '', whole: { z: Z_TOUCHED, z_contact: Z_TOUCHED } },
  { say: 'the sheet is nearer than pierce height', whole: { z: -400, z_contact: -400 } },
  { say: 'Z has searched its whole travel', whole: { z: -24_000, z_contact: -24_000 } },
  { say: 'Z has lifted off by more than the switch needs', whole: { z: Z_TOUCHED, z_contact: Z_TOUCHED - 2400 } },
];
const WRONG_WAY: Direction = [
  { say: '' },
  {
    say: 'the error has grown against the motion of Z',
    real: { velocity_mm_s: -5, wrong_travel_mm: 5, wrong_start_mm: 0.55, error_filtered_mm: 3 },
  },
];
const KEY_TIME: Direction = [{ say: '' }, { say: 'the key has been off for 30 ms', whole: { key_off_ms: 30 } }];
const REQUEST_TIME: Direction = [
  { say: '' },
  { say: 'the request has been off for 30 ms', whole: { request_off_ms: 30 } },
];

const ALWAYS: readonly Direction[] = [KEY, REQUEST, STOP_CHAIN, SEATED];
const CUTTING: readonly Direction[] = [
  ...ALWAYS,
  OVERRUN,
  CUTTING_VOLTAGES,
  ARC_COUNT,
  STUCK,
  ARC_TIME,
  HEIGHTS,
  MOVING,
];

/** What each mode reads; what it does not read is not chosen. A test tries the rest at random and finds nothing new. */
const BY_MODE: Readonly<Record<number, readonly Direction[]>> = {
  [MODE_REST]: [...ALWAYS, OVERRUN, AT_TOP, ALL_VOLTAGES, AFTER_TRIGGER, KEY_TIME, REQUEST_TIME],
  [MODE_SEEK]: [...ALWAYS, OVERRUN, TOUCHING, ALL_VOLTAGES, AFTER_TRIGGER, TIMER, SEARCH, MOVING],
  [MODE_LIFT]: [...ALWAYS, OVERRUN, ALL_VOLTAGES, AFTER_TRIGGER, HEIGHTS, MOVING],
  [MODE_STRIKE]: [...ALWAYS, OVERRUN, TRIGGER_VOLTAGES, ARC_COUNT, AFTER_TRIGGER, TIMER, MOVING],
  [MODE_PIERCE]: [...ALWAYS, OVERRUN, TRIGGER_VOLTAGES, ARC_COUNT, ARC_TIME, TIMER, MOVING],
  [MODE_LOWER]: [...ALWAYS, OVERRUN, TRIGGER_VOLTAGES, ARC_COUNT, ARC_TIME, HEIGHTS, MOVING],
  [MODE_SETTLE]: [
    ...CUTTING,
    feeds(FEED_REST, FEED_RUNNING),
    TIMER,
    [{ say: '' }, { say: 'the table has moved', real: { settle_path_mm: 1 } }],
  ],
  [MODE_FOLLOW]: [
    ...CUTTING,
    feeds(FEED_RUNNING, FEED_FALLEN),
    HELD,
    [{ say: '' }, { say: 'limited speed', whole: { limited_ms: 300 } }],
    WRONG_WAY,
  ],
  [MODE_HOLD]: [
    ...CUTTING,
    feeds(FEED_RUNNING, FEED_FALLEN),
    HELD,
    [
      { say: '' },
      { say: 'the crossing has lasted for its time', whole: { crossing_ms: 5000 } },
      { say: 'the crossing’s voltage is gone for its time', whole: { crossing_back_ms: 4 } },
    ],
    [{ say: '' }, { say: 'the hold has used up its path', real: { hold_path_mm: 100 } }],
  ],
  [MODE_RETRACT]: [...ALWAYS, OVERRUN, AT_TOP, ALL_VOLTAGES, AFTER_TRIGGER, RETURN, MOVING, KEY_TIME, REQUEST_TIME],
};

/** A fault waits for a reset with Z at rest; before that Z comes to a stop, or rises to where it was taken over. */
const FAULTED: readonly Direction[] = [
  ...ALWAYS,
  OVERRUN,
  AT_TOP,
  ALL_VOLTAGES,
  AFTER_TRIGGER,
  feeds(FEED_REST, FEED_RUNNING),
  STRAY,
  KEY_TIME,
  REQUEST_TIME,
];

function directionsOf(mode: number, stage: number): readonly Direction[] {
  if (mode !== MODE_FAULT) return BY_MODE[mode]!;
  if (stage === STAGE_WAIT) return [...FAULTED, RESET];
  return stage === STAGE_RISE ? [...FAULTED, MOVING, RETURN] : [...FAULTED, MOVING];
}

/** Whether the supply has a contact of its own that must agree; it is then an input like the others. */
const CONTACT = line(LINE_SUPPLY_CONTACT, '', 'the supply’s contact is open');
const WITH_CONTACT: readonly number[] = [MODE_STRIKE, MODE_PIERCE, MODE_LOWER, MODE_SETTLE, MODE_FOLLOW, MODE_HOLD];

/** Every combination of what a mode reads, as numbers in rows. */
export interface ChoiceTable {
  readonly directions: readonly Direction[];
  readonly count: number;
  /** Words that any option of the mode sets, and for each choice their values (as 32 bits), lines, voltage, feed. */
  readonly words: Int32Array;
  readonly rows: Int32Array;
  readonly width: number;
}

/** Columns of a row before the values of the words. */
export const ROW = { lines: 0, voltage: 1, feed: 2, values: 3 } as const;

export function choiceTable(mode: number, stage: number, supply_contact: boolean): ChoiceTable {
  const directions = [
    ...directionsOf(mode, stage),
    ...(supply_contact && WITH_CONTACT.includes(mode) ? [CONTACT] : []),
  ];
  const words = [...new Set(directions.flat().flatMap(wordsOf))].sort((a, b) => a - b);
  const places = new Map(words.map((word, index) => [word, ROW.values + index]));
  const width = ROW.values + words.length;
  const count = directions.reduce((product, direction) => product * direction.length, 1);
  const rows = new Int32Array(count * width);
  // Looked up once for each option: the rows are millions.
  const ready = directions.map((direction) =>
    direction.map((option) => ({
      ...option,
      columns: valuesOf(option).map(([word]) => places.get(word)!),
      values: valuesOf(option).map(([, value]) => value),
    })),
  );
  for (let choice = 0; choice < count; choice++) {
    const start = choice * width;
    rows[start + ROW.voltage] = NOTHING;
    let rest = choice;
    for (const direction of ready) {
      const option = direction[rest % direction.length]!;
      rest = Math.floor(rest / direction.length);
      rows[start + ROW.lines]! |= option.lines ?? 0;
      if (option.voltage !== undefined) rows[start + ROW.voltage] = option.voltage;
      if (option.feed !== undefined) rows[start + ROW.feed] = option.feed;
      for (let at = 0; at < option.columns.length; at++) rows[start + option.columns[at]!] = option.values[at]!;
    }
  }
  return { directions, count, words: Int32Array.from(words), rows, width };
}

/** The options that make up a choice. */
export function optionsOf({ directions }: ChoiceTable, choice: number): Option[] {
  let rest = choice;
  return directions.map((direction) => {
    const option = direction[rest % direction.length]!;
    rest = Math.floor(rest / direction.length);
    return option;
  });
}

const bits = new DataView(new ArrayBuffer(4));

function valuesOf({ whole = {}, real = {} }: Option): [number, number][] {
  const wholes = Object.entries(whole).map(([name, value]): [number, number] => [sequenceWord(name as never), value]);
  const reals = Object.entries(real).map(([name, value]): [number, number] => {
    bits.setFloat32(0, value);
    return [regulatorWord(name as never), bits.getInt32(0)];
  });
  return [...wholes, ...reals];
}

const wordsOf = (option: Option): number[] => valuesOf(option).map(([word]) => word);
