// Which directions a tick reads, by the key of its state: the modes of the sequence.
import {
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
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_REQUEST,
  INPUT_REST,
  INPUT_STOP_CHAIN,
} from '../../firmware/wire/layout.gen.js';
import {
  AFTER_TRIGGER,
  ALL_VOLTAGES,
  ALWAYS,
  ARC_COUNT,
  ARC_TIME,
  AT_TOP,
  CROSSING,
  CUTTING_VOLTAGES,
  type Direction,
  EARLY,
  FEED_OF_A_CUT,
  FEED_OF_A_START,
  FIRED,
  HEIGHTS,
  HELD,
  HOLD_PATH,
  KEY,
  KEY_TIME,
  LEFT_VOLTAGES,
  LIMITED,
  MOVING,
  OVERRUN,
  REQUEST,
  REQUEST_TIME,
  RESET,
  RESTING,
  RETURN,
  SEARCH,
  SEATED,
  STANDING_VOLTAGE,
  STOP_CHAIN,
  STRAY,
  STROKE,
  STUCK,
  TABLE_MOVED,
  TIMER,
  TOUCHED,
  TOUCHING,
  TRIGGER_VOLTAGES,
  VERDICT,
  WRONG_WAY,
} from './directions.js';
import { bitsOf, fieldOf } from './key.js';

/** What a mode reads. The rest is not chosen; a test chooses all of it at random and finds nothing new. */
export interface Reads {
  /** Whatever happens. */
  readonly first: readonly Direction[];
  /** By the mode's own step: only in a tick in which nothing before it has ended the mode. */
  readonly last: readonly Direction[];
  /** Inputs that must be on, and off, for that. */
  readonly on: number;
  readonly off: number;
}

/** A lost key or request and outputs that are to rest end the mode, the others raise a fault. */
const FAULTS = { on: INPUT_STOP_CHAIN | INPUT_BREAKAWAY, off: INPUT_OVERRUN } as const;
const ENDS = { on: FAULTS.on | INPUT_KEY | INPUT_REQUEST, off: FAULTS.off | INPUT_REST } as const;
const ANY = { on: 0, off: 0 } as const;

const approach = (trigger: boolean, touch: readonly Direction[], last: readonly Direction[]): Reads => ({
  first: [...ALWAYS, ...touch, EARLY, MOVING, ...witnesses(trigger, TRIGGER_VOLTAGES)],
  last,
  ...ENDS,
});
const cutting = (trigger: boolean, feed: Direction, last: readonly Direction[]): Reads => ({
  first: [...ALWAYS, TOUCHED, STUCK, MOVING, feed, ...witnesses(trigger, CUTTING_VOLTAGES)],
  last: [HEIGHTS, ...last],
  ...ENDS,
});
/**
 * With the trigger on the box watches the arc, with it off the voltage that is left. What changes least often comes
 * last.
 */
const witnesses = (trigger: boolean, voltage: Direction): readonly Direction[] =>
  trigger ? [ARC_COUNT, ARC_TIME, voltage] : [AFTER_TRIGGER, LEFT_VOLTAGES];

/** Bits of a key that decide what its tick reads. */
export const READ_BITS = bitsOf(
  'mode',
  'stage',
  'trigger',
  'homed',
  'owned',
  'permit_was_given',
  'key_off_ms',
  'request_off_ms',
);

/** What can matter in a tick from the state of a key. */
export function readsOf(key: number): Reads {
  const on = (name: Parameters<typeof fieldOf>[1]) => fieldOf(key, name) !== 0;
  const trigger = on('trigger');
  const standing = [
    KEY,
    REQUEST,
    STOP_CHAIN,
    SEATED,
    ...(on('homed') || on('owned') ? [] : [AT_TOP]),
    // How long key and request have been off matters only where they were.
    ...(on('key_off_ms') ? [KEY_TIME] : []),
    ...(on('request_off_ms') ? [REQUEST_TIME] : []),
  ];
  const voltage = witnesses(trigger, ALL_VOLTAGES);
  // Z that is not the box's stands still, wherever that is.
  const motion = on('owned') ? [MOVING] : [];
  // All that rest does to a box without Z and trigger it does as a key that is off, but in rest.
  const resting = on('owned') || fieldOf(key, 'mode') === MODE_REST ? [RESTING] : [];
  switch (fieldOf(key, 'mode')) {
    case MODE_REST:
      return { first: [...standing, ...resting, OVERRUN, ...voltage], last: [], ...ANY };
    case MODE_SEEK:
      return approach(trigger, [], [TOUCHING, TIMER, SEARCH]);
    case MODE_LIFT:
    case MODE_LOWER:
      return approach(trigger, [TOUCHED], [HEIGHTS]);
    case MODE_STRIKE:
      return approach(trigger, [TOUCHED], [TIMER]);
    case MODE_PIERCE:
      return {
        first: [...ALWAYS, TOUCHED, ...witnesses(trigger, TRIGGER_VOLTAGES)],
        last: [TIMER, STROKE, VERDICT, FIRED],
        ...ENDS,
      };
    case MODE_SETTLE:
      return cutting(trigger, FEED_OF_A_START, [TIMER, TABLE_MOVED, STANDING_VOLTAGE]);
    case MODE_FOLLOW:
      return cutting(trigger, FEED_OF_A_CUT, [HELD, LIMITED, WRONG_WAY]);
    case MODE_HOLD:
      return cutting(trigger, FEED_OF_A_CUT, [HELD, CROSSING, HOLD_PATH]);
    case MODE_RETRACT:
      return {
        first: [...standing, ...resting, OVERRUN, ...motion, ...voltage],
        last: on('owned') ? [RETURN] : [],
        ...FAULTS,
      };
    default: {
      return faulted(fieldOf(key, 'stage'), motion, [...standing, ...resting, ...voltage, STRAY]);
    }
  }
}

/** A fault waits for a reset with Z at rest; before that Z comes to a stop, or rises to where it was taken over. */
function faulted(stage: number, motion: readonly Direction[], first: readonly Direction[]): Reads {
  if (stage === STAGE_WAIT) return { first: [RESET, ...first], last: [], ...ANY };
  const moving = [...motion, ...first];
  return stage === STAGE_RISE && motion.length > 0
    ? { first: moving, last: [RETURN], on: FAULTS.on, off: 0 }
    : { first: moving, last: [], ...ANY };
}
