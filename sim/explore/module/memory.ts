// What stands where: the blocks of the control module, whose memory this is, and what the host puts behind them.

import * as CONTROL from '../../../firmware/control/state';
import { Filter, Regulator, Sequence } from '../../../firmware/control/state';
import { Parameters } from '../../../firmware/control/table.gen';
import { INPUT_DIGITAL, INPUT_X_STEPS } from '../../../firmware/wire/layout.gen';

// Where the control module says that its blocks are.
export let state: usize = 0;
export let input: usize = 0;
export let output: usize = 0;
let parameters: usize = 0;

export function S(): Sequence {
  return changetype<Sequence>(state);
}
export function R(): Regulator {
  return changetype<Regulator>(state + REGULATOR_AT);
}
export function P(): Parameters {
  return changetype<Parameters>(parameters);
}

export function findBlocks(state_at: usize, input_at: usize, output_at: usize, parameters_at: usize): void {
  state = state_at;
  input = input_at;
  output = output_at;
  parameters = parameters_at;
}

// Places in the state, bytes.
export const REGULATOR_AT: usize = changetype<usize>(CONTROL.R) - CONTROL.STATE;
export const FILTER_AT: usize = changetype<usize>(CONTROL.F) - CONTROL.STATE;
export const PROOF_AT: usize = changetype<usize>(CONTROL.Q) - CONTROL.STATE;
export const PROOF_BYTES: usize = CONTROL.PROOF_BYTES;
export const RULER_AT: usize = changetype<usize>(CONTROL.L) - CONTROL.STATE;
export const RING_AT: usize = CONTROL.RING - CONTROL.STATE;
export const STATE_BYTES: usize = CONTROL.STATE_BYTES;
/** Whole blocks of sixteen bytes that hold the fields of the sequence, of the regulator, of the filter. */
export const SEQUENCE_BYTES: usize = (offsetof<Sequence>() + 15) & ~15;
export const REGULATOR_BYTES: usize = (offsetof<Regulator>() + 15) & ~15;
export const FILTER_BYTES: usize = (offsetof<Filter>() + 15) & ~15;

export function lines(): i32 {
  return load<i32>(input + INPUT_DIGITAL);
}
export function putInputs(lines: i32, x_steps: i32): void {
  store<i32>(input + INPUT_DIGITAL, lines);
  store<i32>(input + INPUT_X_STEPS, x_steps);
}

/** Copies whole blocks of sixteen bytes. */
export function copy(to: usize, from: usize, bytes: usize): void {
  for (let at: usize = 0; at < bytes; at += 16) v128.store(to + at, v128.load(from + at));
}
