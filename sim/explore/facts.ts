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
import { SEQUENCE_FIELDS } from '../../firmware/wire/state-fields.gen.js';
import type { ControllerOutput } from '../run/controller/index.js';
import {
  absolute,
  add,
  and,
  atLeast,
  type Code,
  choose,
  eq,
  f32,
  greater,
  i32,
  less,
  loadReal,
  ne,
  or,
  realAtLeast,
  realAtMost,
  realLess,
  shiftLeft,
  subtract,
  word,
} from './assembler.js';
import { KEY_PARTS } from './key.js';
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
const AT_REST_TICKS = 20;
/** A firing contact that is closed against the trigger for this many ticks has not opened. */
export const RELAY_TICKS = 200;
/** Faster than this X and Y count as moving. */
const STRAY_MM_S = 0.5;

/** The refusal of a tick. */
export const refusalOf = (facts: number): number => (facts >>> 12) & 15;

const WORD = Object.fromEntries(SEQUENCE_FIELDS.map((name) => [name, sequenceWord(name)])) as Readonly<
  Record<(typeof SEQUENCE_FIELDS)[number], number>
>;
const SETTLE_PATH = regulatorWord('settle_path_mm');

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
    (words[SETTLE_PATH] !== 0 ? FACT.moved : 0) |
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

/** Byte addresses of the control module's blocks. */
export interface Blocks {
  readonly state: number;
  readonly input: number;
  readonly output: number;
}

const join = (parts: readonly Code[]): Code => parts.reduce((code, part) => or(code, part));
/** A fact, of a condition that is 0 or 1. */
const fact = (name: keyof typeof FACT, condition: Code): Code =>
  shiftLeft(condition, i32(31 - Math.clz32(FACT[name] & -FACT[name])));
const isOn = (value: Code): Code => ne(value, i32(0));

type Name = Parameters<typeof sequenceWord>[0];
const sequence = ({ state }: Blocks, name: Name): Code => word(state + 4 * sequenceWord(name));

/** As `keyOf`, in code. */
export const keyCode = ({ state }: Blocks): Code =>
  join(
    KEY_PARTS.map((part) => {
      const value = word(state + 4 * part.word);
      return shiftLeft(part.flag ? greater(value, i32(0)) : value, i32(part.shift));
    }),
  );

/** As `factsBefore`, in code. */
export function beforeCode(blocks: Blocks): Code {
  const has = (name: Name, least: number) => atLeast(sequence(blocks, name), i32(least));
  return join([
    fact('key_was_off_long', has('key_off_ms', WITHDRAWN_TICKS)),
    fact('request_was_off_long', has('request_off_ms', WITHDRAWN_TICKS - 1)),
    fact('reset_was_on', isOn(sequence(blocks, 'reset_before'))),
    fact('stray_lasted', has('stray_ms', STRAY_MS - 1)),
    fact('stood', has('standstill_ms', STANDSTILL_MS - 1)),
    fact('voltage_lasted', and(has('at_rest_ms', AT_REST_TICKS - 1), has('trigger_off_ms', FALL_MS - 1))),
    fact('contact_lasted', and(eq(sequence(blocks, 'trigger'), i32(0)), has('relay_ms', RELAY_TICKS - 1))),
    fact('arc_gone', and(isOn(sequence(blocks, 'trigger')), eq(sequence(blocks, 'arc_count'), i32(0)))),
    fact('closed_at_first', and(eq(sequence(blocks, 'mode'), i32(MODE_SEEK)), eq(sequence(blocks, 'timer'), i32(0)))),
  ]);
}

/** As `factsAfter`, in code. */
export function afterCode(blocks: Blocks, before: Code, digital_inputs: Code): Code {
  const measured_V = loadReal(i32(0), blocks.output + OUTPUT_MEASURED_V);
  const z_steps = word(blocks.output + OUTPUT_Z_STEPS);
  const z = sequence(blocks, 'z');
  const z_touched = sequence(blocks, 'z_touched');
  const above_sheet = subtract(z, z_touched);
  const dive = subtract(z_touched, i32(DIVE_STEPS));
  const travel = i32(-TRAVEL_STEPS);
  const diving = and(isOn(sequence(blocks, 'touched_off')), atLeast(sequence(blocks, 'mode'), i32(MODE_LIFT)));
  const deepest = choose(and(diving, greater(dive, travel)), dive, travel);
  const still = realAtMost(loadReal(i32(0), blocks.output + OUTPUT_MEASURED_FEED_MM_S), f32(STRAY_MM_S));
  const inside = and(realAtLeast(measured_V, f32(ARC_LOW_V)), realAtMost(measured_V, f32(ARC_HIGH_V)));
  const open = eq(sequence(blocks, 'touch'), i32(0));
  const mode = sequence(blocks, 'mode');
  const stands = eq(above_sheet, choose(eq(mode, i32(MODE_STRIKE)), i32(PIERCE_STEPS), i32(CUT_STEPS)));
  const reachable = less(add(z_touched, i32(PIERCE_STEPS)), i32(1));
  const up = greater(z_steps, i32(0));
  const down = less(z_steps, i32(0));
  const unsaid = join([
    fact('stray_lasted', still),
    fact('stood', eq(still, i32(0))),
    fact('arc_gone', inside),
    fact('closed_at_first', open),
    fact('contact_lasted', eq(and(digital_inputs, i32(INPUT_RELAY)), i32(0))),
  ]);
  const line = (name: keyof typeof FACT, bit: number) => fact(name, isOn(and(digital_inputs, i32(bit))));
  return join([
    and(before, subtract(i32(-1), unsaid)),
    line('key', INPUT_KEY),
    line('request', INPUT_REQUEST),
    line('stop_chain', INPUT_STOP_CHAIN),
    line('contact', INPUT_SUPPLY_CONTACT),
    line('reset', INPUT_RESET),
    line('late', INPUT_OVERRUN),
    line('firing_contact', INPUT_RELAY),
    line('resting', INPUT_REST),
    fact('arc_voltage', and(realAtLeast(measured_V, f32(ARC_LOW_V)), realAtMost(measured_V, f32(TRANSFER_V)))),
    fact('z_up', up),
    fact('z_down', down),
    fact('refusal', word(blocks.output + OUTPUT_REFUSAL)),
    fact('near_zero', realLess(absolute(measured_V), f32(REST_V))),
    fact('seated', isOn(sequence(blocks, 'breakaway'))),
    fact('height', choose(eq(mode, i32(MODE_LIFT)), reachable, stands)),
    fact('taken_over', eq(z, i32(0))),
    fact('outward', or(and(greater(z, i32(0)), up), and(less(z, deepest), down))),
    fact('held', isOn(sequence(blocks, 'external'))),
    fact('moved', isOn(word(blocks.state + 4 * regulatorWord('settle_path_mm')))),
    fact('reset_kept', isOn(sequence(blocks, 'reset_before'))),
  ]);
}
