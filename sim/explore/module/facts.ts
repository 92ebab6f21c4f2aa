// Key and facts of a tick, read from the blocks of the control module.

import { Regulator, Sequence } from '../../../firmware/control/state';
import { MODE_FAULT, MODE_LIFT, MODE_PIERCE, MODE_SEEK, MODE_STRIKE } from '../../../firmware/wire/codes.gen';
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
  STROKE_UM,
} from '../../../firmware/wire/layout.gen';
import * as FACT from '../fact';
import { output, P, REGULATOR_AT, S, state } from './memory';

/** A row of the key, as key.ts has them. */
@unmanaged
export class KeyRow {
  /** Place in the state, bytes. */
  place: u32;
  shift: i32;
  /** Only whether it is above 0. */
  flag: i32;
  /** All its bits in a key. */
  bits: i32;
  /** The mark of the field itself, as it is before the tick; 0 where all keys of a table have the same. */
  own: u32;
}
const KEY_ROW_BYTES = offsetof<KeyRow>();
export const KEY_ROWS = memory.data(20 * 32);
export let key_rows: i32 = 0;
export function setKeyRows(rows: i32): void {
  key_rows = rows;
}
export function keyRow(at: i32): KeyRow {
  return changetype<KeyRow>(KEY_ROWS + KEY_ROW_BYTES * <usize>at);
}

/** What is remembered of the sequence. */
export function key(): i32 {
  let key = 0;
  for (let at = 0; at < key_rows; at++) {
    const row = keyRow(at);
    const value = load<i32>(state + row.place);
    key |= (row.flag ? <i32>(value > 0) : value) << row.shift;
  }
  return key;
}

/** Voltage that lasts for this many ticks counts as voltage. */
const AT_REST_TICKS = 20;
/** A touch-off switch that is closed for this many ticks in a cut is a contact. */
const CONTACT_TICKS = 20;
/** X and Y that move for this many ticks before the motion permit are early. */
const EARLY_TICKS = 25;
/** Faster than this X and Y count as moving. */
const STRAY_MM_S: f32 = 0.5;
const EXTERNAL_PATH: usize = REGULATOR_AT + offsetof<Regulator>('external_path_mm');

/** A fact, of a condition. */
function fact(bit: i32, condition: bool): i32 {
  return condition ? bit : 0;
}

/** What can be said before the tick: `facts` says which of it has come to pass. */
export function before(): i32 {
  const s = S();
  return (
    fact(FACT.key_was_off_long, s.key_off_ms >= FACT.WITHDRAWN_TICKS) |
    // With this tick it has been off for all of them.
    fact(FACT.request_was_off_long, s.request_off_ms >= FACT.WITHDRAWN_TICKS - 1) |
    fact(FACT.reset_was_on, s.reset_before != 0) |
    fact(FACT.stray_lasted, movedInTime(s)) |
    fact(FACT.stood, s.standstill_ms >= <i32>(P().standstill_s * 1000) - 1) |
    fact(FACT.voltage_lasted, s.at_rest_ms >= AT_REST_TICKS - 1 && s.trigger_off_ms >= <i32>P().fall_ms - 1) |
    fact(FACT.contact_lasted, s.trigger == 0 && s.relay_ms >= FACT.RELAY_TICKS - 1) |
    fact(FACT.arc_gone, s.trigger != 0 && s.arc_count == 0) |
    fact(FACT.closed_in_time, closedInTime(s))
  );
}

function movedInTime(s: Sequence): bool {
  return s.mode == MODE_FAULT ? s.stray_ms >= <i32>P().stray_ms - 1 : s.early_ms >= EARLY_TICKS - 1;
}

function closedInTime(s: Sequence): bool {
  return s.mode == MODE_SEEK ? s.timer == 0 : s.contact_ms >= CONTACT_TICKS - 1;
}

/** The marks of what `before` looks at, beside what is in the key. @param marks where those of the state stand */
export function beforeMarks(marks: usize): u32 {
  return (
    load<u32>(marks + offsetof<Sequence>('key_off_ms')) |
    load<u32>(marks + offsetof<Sequence>('request_off_ms')) |
    load<u32>(marks + offsetof<Sequence>('reset_before')) |
    load<u32>(marks + offsetof<Sequence>('stray_ms')) |
    load<u32>(marks + offsetof<Sequence>('early_ms')) |
    load<u32>(marks + offsetof<Sequence>('standstill_ms')) |
    load<u32>(marks + offsetof<Sequence>('at_rest_ms')) |
    load<u32>(marks + offsetof<Sequence>('trigger_off_ms')) |
    load<u32>(marks + offsetof<Sequence>('relay_ms')) |
    load<u32>(marks + offsetof<Sequence>('arc_count')) |
    load<u32>(marks + offsetof<Sequence>('contact_ms')) |
    load<u32>(marks + offsetof<Sequence>('timer'))
  );
}

/** Facts that are nothing but an input. */
export function linesFacts(lines: i32): i32 {
  return (
    fact(FACT.key, (lines & INPUT_KEY) != 0) |
    fact(FACT.request, (lines & INPUT_REQUEST) != 0) |
    fact(FACT.stop_chain, (lines & INPUT_STOP_CHAIN) != 0) |
    fact(FACT.contact, (lines & INPUT_SUPPLY_CONTACT) != 0) |
    fact(FACT.reset, (lines & INPUT_RESET) != 0) |
    fact(FACT.late, (lines & INPUT_OVERRUN) != 0) |
    fact(FACT.firing_contact, (lines & INPUT_RELAY) != 0) |
    fact(FACT.resting, (lines & INPUT_REST) != 0)
  );
}

/** Facts that state and output tell after the tick. */
export function after(): i32 {
  const s = S();
  const measured_V = load<f32>(output + OUTPUT_MEASURED_V);
  const z_steps = load<i32>(output + OUTPUT_Z_STEPS);
  return (
    fact(FACT.arc_voltage, measured_V >= P().arc_low_V && measured_V <= P().arc_high_V) |
    fact(FACT.z_up, z_steps > 0) |
    fact(FACT.z_down, z_steps < 0) |
    (load<i32>(output + OUTPUT_REFUSAL) * FACT.refusal) |
    fact(FACT.near_zero, abs<f32>(measured_V) < P().rest_V) |
    fact(FACT.seated, s.breakaway != 0) |
    fact(FACT.height, atHeight()) |
    fact(FACT.taken_over, s.z == 0) |
    fact(FACT.outward, (s.z > 0 && z_steps > 0) || (s.z < lowest() && z_steps < 0)) |
    fact(FACT.held, s.external != 0 && load<f32>(state + EXTERNAL_PATH) < P().external_path_mm) |
    // The bits, as for all that is only compared with 0: −0 counts as moved.
    fact(FACT.moved, load<i32>(state + REGULATOR_AT + offsetof<Regulator>('settle_path_mm')) != 0) |
    fact(FACT.reset_kept, s.reset_before != 0)
  );
}

/** What was said before the tick and has not come to pass. */
export function unsaid(): i32 {
  const measured_V = load<f32>(output + OUTPUT_MEASURED_V);
  const moving = load<f32>(output + OUTPUT_MEASURED_FEED_MM_S) > STRAY_MM_S;
  return (
    fact(moving ? FACT.stood : FACT.stray_lasted, true) |
    fact(FACT.arc_gone, measured_V >= P().arc_low_V && measured_V <= P().arc_high_V) |
    fact(FACT.closed_in_time, S().touch == 0)
  );
}

/** The marks of what `after` and `unsaid` look at. */
export function afterMarks(state_marks: usize, output_marks: usize): u32 {
  return (
    load<u32>(state_marks + offsetof<Sequence>('mode')) |
    load<u32>(state_marks + offsetof<Sequence>('touched_off')) |
    load<u32>(state_marks + offsetof<Sequence>('breakaway')) |
    load<u32>(state_marks + offsetof<Sequence>('external')) |
    load<u32>(state_marks + offsetof<Sequence>('touch')) |
    load<u32>(state_marks + offsetof<Sequence>('z')) |
    load<u32>(state_marks + offsetof<Sequence>('z_touched')) |
    load<u32>(state_marks + offsetof<Sequence>('reset_before')) |
    load<u32>(state_marks + REGULATOR_AT + offsetof<Regulator>('settle_path_mm')) |
    load<u32>(state_marks + EXTERNAL_PATH) |
    load<u32>(output_marks + OUTPUT_MEASURED_V) |
    load<u32>(output_marks + OUTPUT_Z_STEPS) |
    load<u32>(output_marks + OUTPUT_REFUSAL) |
    load<u32>(output_marks + OUTPUT_MEASURED_FEED_MM_S)
  );
}

/** All facts of a tick. */
export function together(said: i32, lines: i32, after: i32, unsaid: i32): i32 {
  const open = lines & INPUT_RELAY ? 0 : FACT.contact_lasted;
  return (said & ~unsaid & ~open) | linesFacts(lines) | after;
}

function steps(length_mm: f32): i32 {
  return <i32>(length_mm * P().z_steps_per_mm);
}

function atHeight(): bool {
  const s = S();
  const pierce = s.z_touched + steps(P().pierce_height_mm);
  if (s.mode == MODE_LIFT) return pierce + steps(<f32>STROKE_UM * <f32>0.001) <= 0;
  if (s.mode == MODE_PIERCE) return s.z >= pierce;
  return s.z - s.z_touched == steps(s.mode == MODE_STRIKE ? P().pierce_height_mm : P().cut_height_mm);
}

function lowest(): i32 {
  const s = S();
  const travel = -steps(P().travel_mm);
  const dive = s.z_touched - steps(P().dive_mm);
  return s.touched_off != 0 && s.mode >= MODE_LIFT && dive > travel ? dive : travel;
}
