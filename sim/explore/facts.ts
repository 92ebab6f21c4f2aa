import { MODE_LIFT, MODE_SEEK, MODE_STRIKE } from '../../firmware/wire/codes.gen.js';
import {
  INPUT_KEY,
  INPUT_OVERRUN,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_RESET,
  INPUT_REST,
  INPUT_STOP_CHAIN,
  INPUT_SUPPLY_CONTACT,
  OUTPUT_MEASURED_FEED_MM_S,
  OUTPUT_MEASURED_V,
  OUTPUT_REFUSAL,
  OUTPUT_Z_STEPS,
} from '../../firmware/wire/layout.gen.js';
import type { ControllerOutput } from '../run/controller/index.js';
import {
  ARC_HIGH_V,
  ARC_LOW_V,
  CUT_STEPS,
  DIVE_STEPS,
  FALL_MS,
  PIERCE_STEPS,
  REST_V,
  regulatorWord,
  STANDSTILL_MS,
  STRAY_MS,
  sequenceWord,
  TRANSFER_V,
  TRAVEL_STEPS,
} from './world.js';

/** What an invariant may ask about a tick, beside the keys before and after it: bits of one number. */
export const FACT = {
  key: 1 << 0,
  request: 1 << 1,
  stop_chain: 1 << 2,
  /** The supply's contact is closed. */
  contact: 1 << 3,
  reset: 1 << 4,
  /** The tick before was late. */
  late: 1 << 5,
  /** X and Y had moved for the time that counts as stray. */
  stray_lasted: 1 << 6,
  /** There had been voltage for its time, long after trigger off. */
  voltage_lasted: 1 << 7,
  /** The debounce of the arc has run out, and the voltage is outside the arc window. */
  arc_gone: 1 << 8,
  /** The voltage is inside the arc window and not above that of a transferred arc. */
  arc_voltage: 1 << 9,
  z_up: 1 << 10,
  z_down: 1 << 11,
  /** Four bits: the refusal. */
  refusal: 1 << 12,
  /** The key, the request had been off for long enough before this tick. */
  key_was_off_long: 1 << 16,
  request_was_off_long: 1 << 17,
  /** Reset was on in the tick before. */
  reset_was_on: 1 << 18,
  /** The mean of the arc voltage is within rest_V of 0. */
  near_zero: 1 << 19,
  /** The torch is in its holder, as the switch has settled. */
  seated: 1 << 20,
  /**
   * Z stands at the height that belongs to its mode: in strike pierce height above the touched sheet, else cut height. In lift
   * pierce height lies no higher than where Z was taken over.
   */
  height: 1 << 21,
  /** The firing contact had been closed against the trigger for its time; it is closed. */
  contact_lasted: 1 << 22,
  firing_contact: 1 << 25,
  /** Z stands where the box took it over; a step of Z has led further above that, or further below its bounds. */
  taken_over: 1 << 23,
  outward: 1 << 24,
  /** The hold input is on, as it has settled. */
  held: 1 << 26,
  /** The table has moved since the motion permit. */
  moved: 1 << 27,
  /** The reset of this tick is remembered for the next. */
  reset_kept: 1 << 28,
  /** The touch-off switch is closed, as it has settled, in the first tick of a search. */
  closed_at_first: 1 << 29,
  /** The outputs are to rest. */
  resting: 1 << 30,
  /** The table had stood still for its time under the motion permit. */
  stood: 1 << 31,
} as const;

/** A key or a request counts as withdrawn after this many ticks off without a break. */
export const WITHDRAWN_TICKS = 30;
/** Voltage that lasts for this many ticks counts as voltage. */
export const AT_REST_TICKS = 20;
/** A firing contact that is closed against the trigger for this many ticks has not opened. */
export const RELAY_TICKS = 200;
/** Faster than this X and Y count as moving. */
export const STRAY_MM_S = 0.5;

/** The refusal of a tick. */
export const refusalOf = (facts: number): number => (facts >>> 12) & 15;

const WORD = {
  mode: sequenceWord('mode'),
  timer: sequenceWord('timer'),
  touch: sequenceWord('touch'),
  key_off_ms: sequenceWord('key_off_ms'),
  request_off_ms: sequenceWord('request_off_ms'),
  reset_before: sequenceWord('reset_before'),
  stray_ms: sequenceWord('stray_ms'),
  standstill_ms: sequenceWord('standstill_ms'),
  at_rest_ms: sequenceWord('at_rest_ms'),
  relay_ms: sequenceWord('relay_ms'),
  trigger_off_ms: sequenceWord('trigger_off_ms'),
  trigger: sequenceWord('trigger'),
  arc_count: sequenceWord('arc_count'),
  breakaway: sequenceWord('breakaway'),
  external: sequenceWord('external'),
  touched_off: sequenceWord('touched_off'),
  z: sequenceWord('z'),
  z_touched: sequenceWord('z_touched'),
  settle_path: regulatorWord('settle_path_mm'),
} as const;

/** What can be said before the tick: `factsAfter` says which of it has come to pass. */
export function factsBefore(words: Int32Array): number {
  return (
    (words[WORD.key_off_ms] >= WITHDRAWN_TICKS ? FACT.key_was_off_long : 0) |
    // With this tick it has been off for all of them.
    (words[WORD.request_off_ms] >= WITHDRAWN_TICKS - 1 ? FACT.request_was_off_long : 0) |
    (words[WORD.reset_before] !== 0 ? FACT.reset_was_on : 0) |
    (words[WORD.stray_ms] >= STRAY_MS - 1 ? FACT.stray_lasted : 0) |
    (words[WORD.standstill_ms] >= STANDSTILL_MS - 1 ? FACT.stood : 0) |
    (words[WORD.at_rest_ms] >= AT_REST_TICKS - 1 && words[WORD.trigger_off_ms] >= FALL_MS - 1
      ? FACT.voltage_lasted
      : 0) |
    (words[WORD.trigger] === 0 && words[WORD.relay_ms] >= RELAY_TICKS - 1 ? FACT.contact_lasted : 0) |
    (words[WORD.trigger] !== 0 && words[WORD.arc_count] === 0 ? FACT.arc_gone : 0) |
    (words[WORD.mode] === MODE_SEEK && words[WORD.timer] === 0 ? FACT.closed_at_first : 0)
  );
}

/** All facts of a tick, from what was said before it and from what it has left in the state and the output. */
export function factsAfter(
  before: number,
  digital_inputs: number,
  words: Int32Array,
  { integers, reals }: ControllerOutput,
): number {
  const measured_V = reals[OUTPUT_MEASURED_V / 4];
  const z_steps = integers[OUTPUT_Z_STEPS / 4];
  const z = words[WORD.z];
  const above_sheet = z - words[WORD.z_touched];
  const dive = words[WORD.touched_off] !== 0 && words[WORD.mode] >= MODE_LIFT;
  const lowest = dive ? Math.max(words[WORD.z_touched] - DIVE_STEPS, -TRAVEL_STEPS) : -TRAVEL_STEPS;
  let facts = before;
  if (!(reals[OUTPUT_MEASURED_FEED_MM_S / 4] > STRAY_MM_S)) facts &= ~FACT.stray_lasted;
  else facts &= ~FACT.stood;
  if (measured_V >= ARC_LOW_V && measured_V <= ARC_HIGH_V) facts &= ~FACT.arc_gone;
  if (words[WORD.touch] === 0) facts &= ~FACT.closed_at_first;
  if ((digital_inputs & INPUT_RELAY) === 0) facts &= ~FACT.contact_lasted;
  const mode = words[WORD.mode];
  const standing = above_sheet === (mode === MODE_STRIKE ? PIERCE_STEPS : CUT_STEPS);
  const height = mode === MODE_LIFT ? words[WORD.z_touched] + PIERCE_STEPS <= 0 : standing;
  return (
    facts |
    (digital_inputs & INPUT_KEY ? FACT.key : 0) |
    (digital_inputs & INPUT_REQUEST ? FACT.request : 0) |
    (digital_inputs & INPUT_STOP_CHAIN ? FACT.stop_chain : 0) |
    (digital_inputs & INPUT_SUPPLY_CONTACT ? FACT.contact : 0) |
    (digital_inputs & INPUT_RESET ? FACT.reset : 0) |
    (digital_inputs & INPUT_OVERRUN ? FACT.late : 0) |
    (digital_inputs & INPUT_RELAY ? FACT.firing_contact : 0) |
    (digital_inputs & INPUT_REST ? FACT.resting : 0) |
    (measured_V >= ARC_LOW_V && measured_V <= TRANSFER_V ? FACT.arc_voltage : 0) |
    (z_steps > 0 ? FACT.z_up : 0) |
    (z_steps < 0 ? FACT.z_down : 0) |
    (integers[OUTPUT_REFUSAL / 4] << 12) |
    (Math.abs(measured_V) < REST_V ? FACT.near_zero : 0) |
    (words[WORD.breakaway] !== 0 ? FACT.seated : 0) |
    (height ? FACT.height : 0) |
    (z === 0 ? FACT.taken_over : 0) |
    ((z > 0 && z_steps > 0) || (z < lowest && z_steps < 0) ? FACT.outward : 0) |
    (words[WORD.external] !== 0 ? FACT.held : 0) |
    (words[WORD.settle_path] !== 0 ? FACT.moved : 0) |
    (words[WORD.reset_before] !== 0 ? FACT.reset_kept : 0)
  );
}

/** All of some facts. */
export const all = (facts: number, bits: number) => (facts & bits) === bits;
export const none = (facts: number, bits: number) => (facts & bits) === 0;

/** What must hold in every tick. */
export interface Invariant {
  readonly name: string;
  readonly statement: string;
  /** Whether it has anything to say about a change from one key to another. */
  readonly concerns: (before: number, after: number) => boolean;
  /** Whether it holds where it has; `facts`: bits of FACT, what else is known of the tick. */
  readonly kept: (facts: number, before: number, after: number) => boolean;
}

/** An invariant that asks for facts where it has something to say. */
export const invariant = (
  name: string,
  statement: string,
  concerns: Invariant['concerns'],
  kept: Invariant['kept'],
): Invariant => ({ name, statement, concerns, kept });

/** An invariant about the keys alone: that it concerns them breaks it. */
export const never = (name: string, statement: string, broken: Invariant['concerns']): Invariant =>
  invariant(name, statement, broken, () => false);

/** The invariants that a tick breaks. */
export const brokenBy = (
  invariants: readonly Invariant[],
  before: number,
  after: number,
  facts: number,
): readonly Invariant[] => invariants.filter((one) => one.concerns(before, after) && !one.kept(facts, before, after));
