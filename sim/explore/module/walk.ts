// Every choice of a key, one tick each: for the guard, for a module without a tracked copy, and to hold the other to.

import { optionsOf, putChoice, reachesStep, rowLines, setChoice, setDigit, T } from './choice';
import { tick } from './control';
import { after, before, key, together, unsaid } from './facts';
import { addSighting } from './found';

function run(choice: i32): void {
  putChoice();
  const said = before();
  tick();
  addSighting(choice, key(), together(said, rowLines(), after(), unsaid()), 0);
}

/** Most choices of the first directions. */
const MOST = 262_144;
/** Those of them that get to the mode's own step. */
const REACHED = memory.data(4 * MOST, 16);

/** All choices that exist. @returns the ticks run */
export function walkAll(): i32 {
  const firsts = choicesOf(0, T.firsts);
  const lasts = choicesOf(T.firsts, T.directions);
  if (firsts > MOST) unreachable();
  let reached = 0;
  for (let choice = 0; choice < firsts; choice++) {
    setChoice(choice);
    run(choice);
    if (!reachesStep()) continue;
    store<i32>(REACHED + <usize>(4 * reached), choice);
    reached++;
  }
  for (let last = 1; last < lasts; last++) {
    for (let at = 0; at < reached; at++) {
      const choice = last * firsts + load<i32>(REACHED + <usize>(4 * at));
      setChoice(choice);
      run(choice);
    }
  }
  return firsts + (lasts - 1) * reached;
}

function choicesOf(from: i32, to: i32): i32 {
  let product = 1;
  for (let at = from; at < to; at++) product *= optionsOf(at);
  return product;
}

/** Choices that were drawn: a byte for each direction. */
export const DRAWN = memory.data(65_536, 16);

/** @param count of the choices drawn; each goes by its place among them */
export function walkDrawn(count: i32): void {
  for (let choice = 0; choice < count; choice++) {
    const digits = DRAWN + <usize>(choice * T.directions);
    for (let at = 0; at < T.directions; at++) setDigit(at, load<u8>(digits + <usize>at));
    run(choice);
  }
}
