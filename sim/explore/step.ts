import { OUTPUT_ARC_V, OUTPUT_Z_STEPS } from '../../firmware/wire/layout.js';
import type { ControllerOutput } from '../controller/controller.js';
import { keyOf } from './key.js';
import { CUT_STEPS, PIERCE_STEPS, REST_V, sequenceWord } from './world.js';

/** One tick as an invariant sees it. */
export interface Step {
  /** Keys before and after. */
  before: number;
  after: number;
  lines: number;
  /** Steps of Z that the tick puts out. */
  z_steps: number;
  /** The torch is in its holder, as the switch has settled. */
  seated: boolean;
  /** The mean of the arc voltage is within rest_V of 0. */
  near_zero: boolean;
  /** Height of the tip above the touched sheet. */
  height: number;
  /** The key, the request had been off for long enough before this tick. */
  key_was_off_long: boolean;
  request_was_off_long: boolean;
  /** Reset was on in the tick before. */
  reset_was_on: boolean;
}

/** Heights that an invariant asks about; any other is 0. */
export const AT_PIERCE_HEIGHT = 1;
export const AT_CUT_HEIGHT = 2;

/** A key or a request counts as taken back after this many ticks without a break. */
export const TAKEN_BACK_TICKS = 30;

export const emptyStep = (): Step => ({
  before: 0,
  after: 0,
  lines: 0,
  z_steps: 0,
  seated: false,
  near_zero: true,
  height: 0,
  key_was_off_long: false,
  request_was_off_long: false,
  reset_was_on: false,
});

const BREAKAWAY = sequenceWord('breakaway');
const Z = sequenceWord('z');
const Z_TOUCHED = sequenceWord('z_touched');

/** Takes down what a tick has left in the state and the output. */
export function look(state: Int32Array, { integers, reals }: ControllerOutput, into: Step): void {
  into.after = keyOf(state);
  into.z_steps = integers[OUTPUT_Z_STEPS / 4]!;
  into.seated = state[BREAKAWAY] !== 0;
  into.near_zero = Math.abs(reals[OUTPUT_ARC_V / 4]!) < REST_V;
  const above = state[Z]! - state[Z_TOUCHED]!;
  into.height = above === PIERCE_STEPS ? AT_PIERCE_HEIGHT : above === CUT_STEPS ? AT_CUT_HEIGHT : 0;
}
