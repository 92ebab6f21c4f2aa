import {
  MODE_FAULT,
  MODE_FOLLOW,
  MODE_HOLD,
  MODE_LIFT,
  MODE_LOWER,
  MODE_REST,
  MODE_STRIKE,
  STAGE_FALL,
  STAGE_RISE,
  STAGE_STOP,
} from '../../firmware/wire/codes.gen.js';
import { LINE_REQUEST, LINE_STOP_CHAIN } from '../../firmware/wire/layout.js';
import { fieldOf } from './key.js';
import { AT_CUT_HEIGHT, AT_PIERCE_HEIGHT, type Step } from './step.js';

export interface Invariant {
  readonly name: string;
  /** Number of the law in the design; 0: of the sequence itself. */
  readonly law: number;
  readonly statement: string;
  readonly kept: (step: Step) => boolean;
}

export const law = (name: string, number: number, statement: string, kept: Invariant['kept']): Invariant => ({
  name,
  law: number,
  statement,
  kept,
});

export const on = (key: number, name: Parameters<typeof fieldOf>[1]) => fieldOf(key, name) !== 0;

/** A mode, or a stage of a mode, that was not there before. */
const entered = (before: number, after: number, mode: number) =>
  fieldOf(before, 'mode') !== mode && fieldOf(after, 'mode') === mode;

/** What the sequence must do between the modes. */
export const SEQUENCE_INVARIANTS: readonly Invariant[] = [
  law(
    'request-taken-back',
    3,
    'a request counts as taken back only after it has been off for 30 ms: one that drops out does not strike again',
    ({ before, after, lines, request_was_off_long }) =>
      on(before, 'request_was_off') ||
      !on(after, 'request_was_off') ||
      (request_was_off_long && (lines & LINE_REQUEST) === 0),
  ),
  law(
    'refusal-uses-up',
    3,
    'a request that is refused is used up: it starts nothing when the cause of the refusal goes',
    ({ before, after, lines }) =>
      fieldOf(before, 'mode') !== MODE_REST ||
      fieldOf(after, 'mode') !== MODE_REST ||
      (lines & LINE_REQUEST) === 0 ||
      !on(after, 'request_was_off'),
  ),
  law(
    'reset-edge',
    10,
    'a fault is left by a reset that is pressed, not by one that is held',
    ({ before, after, reset_was_on }) => !on(before, 'fault') || on(after, 'fault') || !reset_was_on,
  ),
  law(
    'latch-goes-with-fault',
    10,
    'the latched stop is open only as long as there is a fault',
    ({ after }) => !on(after, 'latched_stop') || on(after, 'fault'),
  ),
  law(
    'strike-height',
    4,
    'the trigger goes on only at pierce height above the touched sheet',
    ({ before, after, height }) => on(before, 'trigger') || !on(after, 'trigger') || height === AT_PIERCE_HEIGHT,
  ),
  law(
    'permit-height',
    7,
    'the motion permit goes on only at cut height above the touched sheet',
    ({ before, after, height }) => on(before, 'permit') || !on(after, 'permit') || height === AT_CUT_HEIGHT,
  ),
  law(
    'rise-needs-no-voltage',
    5,
    'the torch rises after a cut only when the voltage has fallen',
    ({ before, after, near_zero }) =>
      fieldOf(after, 'stage') !== STAGE_RISE || fieldOf(before, 'stage') === STAGE_RISE || near_zero,
  ),
  law(
    'attempt-needs-no-voltage',
    4,
    'another attempt begins only when the voltage of the one before has fallen',
    ({ before, after, near_zero }) =>
      fieldOf(before, 'mode') !== MODE_STRIKE || fieldOf(after, 'mode') !== MODE_LIFT || near_zero,
  ),
  law(
    'no-blind-attempt',
    4,
    'a strike without any voltage is not tried again',
    ({ before, after }) =>
      fieldOf(before, 'mode') !== MODE_STRIKE ||
      fieldOf(before, 'stage') === STAGE_FALL ||
      fieldOf(after, 'mode') !== MODE_STRIKE ||
      fieldOf(after, 'stage') !== STAGE_FALL ||
      on(after, 'voltage_seen'),
  ),
  law(
    'lower-needs-arc',
    7,
    'the torch is lowered to cut height only with an arc',
    ({ before, after }) => !entered(before, after, MODE_LOWER) || on(after, 'arc_ok'),
  ),
  law('hold-cause-in-cut', 0, 'a cause to hold, or limited speed, is there only in follow and hold', ({ after }) => {
    const mode = fieldOf(after, 'mode');
    return mode === MODE_FOLLOW || mode === MODE_HOLD || !on(after, 'hold');
  }),
  law(
    'stopped-stays',
    5,
    'in a fault with the stop chain open or the torch out of its holder Z comes to a stop and does not rise',
    ({ after, lines, seated }) =>
      fieldOf(after, 'mode') !== MODE_FAULT ||
      !on(after, 'owned') ||
      ((lines & LINE_STOP_CHAIN) !== 0 && seated) ||
      fieldOf(after, 'stage') === STAGE_STOP,
  ),
  law(
    'stopped-is-not-homed',
    8,
    'Z that was stopped where it stood must be homed',
    ({ before, after, lines, seated }) =>
      !on(before, 'owned') ||
      on(after, 'owned') ||
      !on(after, 'homed') ||
      ((lines & LINE_STOP_CHAIN) !== 0 && seated && fieldOf(before, 'stage') !== STAGE_STOP),
  ),
];
