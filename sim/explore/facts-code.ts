// Apart from batch.ts, which would be too long with it.
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
import { AT_REST_TICKS, FACT, RELAY_TICKS, STRAY_MM_S, WITHDRAWN_TICKS } from './facts.js';
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
