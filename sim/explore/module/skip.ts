// Every choice of a key by as few ticks as it takes. The tracked copy of the module tells what a tick depends on. A direction
// that it does not depend on is not tried: whatever its option, key and facts after the tick are the same, but for what
// the facts themselves ask of the choice.

import {
  choiceNumber,
  DIGITS,
  DIRECTIONS_MOST,
  digit,
  exists,
  optionsOf,
  placeOf,
  putChoice,
  putKey,
  putSaid,
  reachesStep,
  rowLines,
  setChoice,
  setDigit,
  T,
} from './choice';
import { tick } from './control';
import { after, afterMarks, before, beforeMarks, key, key_rows, keyRow, linesFacts, together, unsaid } from './facts';
import { addSighting, Found, forgetAll, keepNext, nextOf, putFound } from './found';
import { copy, output, STATE_BYTES, state } from './memory';

/** What of the state is put back before every tick, bytes, and the marks that go with it. */
export const MARK_IMAGE = memory.data(1920, 16);
/** Where the tracked copy keeps the marks of its memory, of the inputs, and of the conditions that a tick has met. */
let marks: usize = 0;
let line_marks: usize = 0;
let met: usize = 0;

export function find_marks(of_memory: usize, of_lines: usize, of_conditions: usize): void {
  marks = of_memory;
  line_marks = of_lines;
  met = of_conditions;
}

/** The directions that facts ask for beside the tick: what is said before it, and inputs. */
let asked: u32 = 0;
function askedDirections(): u32 {
  let all = beforeMarks(MARK_IMAGE);
  for (let bit = 0; bit < 32; bit++) if (linesFacts(1 << bit) != 0) all |= load<u32>(line_marks + <usize>(4 * bit));
  return all;
}

/** Stands beside the mark of a word that the tick has stored to. */
const STORED: u32 = 1 << 31;
/** The marks that are not of directions but of fields of the key, and those of them that mattered in any tick. */
let fields: u32 = 0;
let fields_looked_at: u32 = 0;
export function looked_at(): u32 {
  return fields_looked_at;
}

let ticks: i32 = 0;
/** Of each open branch: the directions that its tick depends on, one a byte. */
const FRAMES = memory.data(DIRECTIONS_MOST * (DIRECTIONS_MOST + 1));

/** All choices that exist. @returns the ticks run */
export function skipAll(of_fields: u32): i32 {
  fields = of_fields;
  fields_looked_at = 0;
  memory.fill(DIGITS, 0, 4 * DIRECTIONS_MOST);
  ticks = 0;
  asked = askedDirections();
  forgetAll(LEAVES);
  branch(fields, 0);
  tellLeaves();
  return ticks;
}

/** All choices that have the options of now in the directions `fixed`; in the others those of now are the first. */
function branch(fixed: u32, depth: i32): void {
  putChoice();
  copy(marks + state, MARK_IMAGE, STATE_BYTES);
  store<u32>(met, 0);
  store<i32>(met, 0, 4);
  tick();
  ticks++;
  const key_after = key();
  const facts_after = after();
  const facts_unsaid = unsaid();
  // A field that was not stored to comes out as it went in: that is no looking at it.
  let carried = 0;
  let results = afterMarks(marks + state, marks + output);
  for (let at = 0; at < key_rows; at++) {
    const row = keyRow(at);
    const mark = load<u32>(marks + state + row.place);
    const kept = row.own != 0 && !(mark & STORED);
    if (kept) carried |= row.bits;
    results |= kept ? mark & ~row.own : mark;
  }
  results &= ~STORED;
  fields_looked_at |= (results | load<u32>(met)) & fields;
  // Conditions first, in the order in which they were met: what ends a tick early is tried before what it then does not reach.
  const frame = FRAMES + <usize>(DIRECTIONS_MOST * depth);
  let depends = 0;
  let left = ~(fixed | STORED);
  const conditions = load<i32>(met, 4);
  for (let at = 0; at <= conditions; at++) {
    const all = at < conditions ? load<u32>(met + <usize>(4 * at), 8) : results;
    for (let some = all & left; some != 0; some &= some - 1) {
      store<u8>(frame + <usize>depends, <u8>ctz(some));
      depends++;
    }
    left &= ~all;
  }
  for (let at = 0; at < depends; at++) {
    const direction = <i32>load<u8>(frame + <usize>at);
    fixed |= 1 << direction;
    for (let option = optionsOf(direction) - 1; option > 0; option--) {
      setDigit(direction, option);
      if (exists()) branch(fixed, depth + 1);
    }
    setDigit(direction, 0);
  }
  addLeaf(fixed, key_after, carried, facts_after, facts_unsaid);
}

/**
 * Choices that differ only in directions that their tick does not depend on. Two of these that agree in all this have the same
 * key and the same facts, choice by choice.
 */
@unmanaged
class Leaf {
  /** The first of the choices. */
  choice: i32;
  key: i32;
  carried: i32;
  /** Of `after` and `unsaid`. */
  after: i32;
  unsaid: i32;
  /** The directions that facts ask for and the tick does not depend on. */
  open: u32;
  /** The options of the others that facts ask for, as a number. */
  said: i32;
  reaches: i32;
}
const MOST = 65_536;
const LEAF_BYTES = offsetof<Leaf>();
const LIST = memory.data(32 * (MOST + 1), 16);
const PLACES = memory.data(8 * MOST, 16);
const LEAVES = putFound(changetype<Found>(memory.data(offsetof<Found>())), LIST, LEAF_BYTES, PLACES, 2 * MOST);

function addLeaf(fixed: u32, key_after: i32, carried: i32, facts_after: i32, facts_unsaid: i32): void {
  let said = 0;
  for (let some = asked & fixed & ~fields; some != 0; some &= some - 1) {
    const direction = <i32>ctz(some);
    said += digit(direction) * placeOf(direction);
  }
  const leaf = changetype<Leaf>(nextOf(LEAVES));
  leaf.choice = choiceNumber();
  leaf.key = key_after & ~carried;
  leaf.carried = carried;
  leaf.after = facts_after;
  leaf.unsaid = facts_unsaid;
  leaf.open = asked & ~fixed;
  leaf.said = said;
  leaf.reaches = T.firsts == T.directions || reachesStep() ? 1 : 0;
  keepNext(LEAVES);
}

/** The sightings of all leaves: each combination of what facts ask for beside the tick. */
function tellLeaves(): void {
  putKey();
  for (let at: u32 = 0; at < LEAVES.count; at++) {
    const leaf = changetype<Leaf>(LIST + LEAF_BYTES * at);
    setChoice(leaf.choice);
    while (true) {
      if (exists()) {
        putSaid();
        addSighting(choiceNumber(), leaf.key, together(before(), rowLines(), leaf.after, leaf.unsaid), leaf.carried);
      }
      let some = leaf.open;
      for (; some != 0; some &= some - 1) {
        const direction = <i32>ctz(some);
        setDigit(direction, digit(direction) + 1);
        if (digit(direction) < optionsOf(direction)) break;
        setDigit(direction, 0);
      }
      if (some == 0) break;
    }
  }
}
