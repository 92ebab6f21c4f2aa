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
import { after, afterMarks, before, beforeMarks, FACT_LINES, key, keyRow, keyRows, together, unsaid } from './facts';
import { addSighting } from './found';
import { copy, output, STATE_BYTES, state } from './memory';

/** What of the state is put back before every tick, bytes, and the marks that go with it. */
const IMAGE = memory.data(896, 16);
/** Where the tracked copy keeps the marks of its memory, of the inputs, and of the conditions that a tick has met. */
let marks: usize = 0;
let line_marks: usize = 0;
let met: usize = 0;

export function find_marks(of_memory: usize, of_lines: usize, of_conditions: usize): void {
  marks = of_memory;
  line_marks = of_lines;
  met = of_conditions;
}
export function mark_image_at(): usize {
  return IMAGE;
}

/** The directions that facts ask for beside the tick: what is said before it, and inputs. */
let asked: u32 = 0;
function askedDirections(): u32 {
  let all = beforeMarks(IMAGE);
  for (let bit = 0; bit < 32; bit++) if ((FACT_LINES >>> bit) & 1) all |= load<u32>(line_marks + <usize>(4 * bit));
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
  forgetLeaves();
  branch(fields, 0);
  tellLeaves();
  return ticks;
}

/** All choices that have the options of now in the directions `fixed`; in the others those of now are the first. */
function branch(fixed: u32, depth: i32): void {
  putChoice();
  copy(marks + state, IMAGE, STATE_BYTES);
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
  for (let at = 0; at < keyRows(); at++) {
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
  addLeaf(fixed, key_after & ~carried, carried, facts_after, facts_unsaid);
}

/**
 * Choices that differ only in directions that their tick does not depend on. Two of these that agree in all this have the same
 * key and the same facts, choice by choice: only the one with the lower numbers is kept.
 */
@unmanaged
class Leaf {
  key: i32;
  carried: i32;
  /** Of `after` and `unsaid`. */
  after: i32;
  unsaid: i32;
  /** The directions that facts ask for and the tick does not depend on. */
  open: u32;
  /** The options of the others that facts ask for, as a number. */
  said: i32;
  reaches: bool;
  /** The first of the choices. */
  choice: i32;
}
const MOST = 16_384;
const PLACES = 2 * MOST;
const LEAF_BYTES = 32;
const LEAVES = memory.data(LEAF_BYTES * MOST, 16);
/** As in found.ts. */
const TABLE = memory.data(4 * PLACES, 16);
let era: u32 = 0;
let leaves: i32 = 0;

function leafAt(number: u32): Leaf {
  return changetype<Leaf>(LEAVES + <usize>(LEAF_BYTES * number));
}

function forgetLeaves(): void {
  era += <u32>leaves;
  leaves = 0;
  if (era < 0xf0000000) return;
  memory.fill(TABLE, 0, 4 * PLACES);
  era = 0;
}

function addLeaf(fixed: u32, key_after: i32, carried: i32, facts_after: i32, facts_unsaid: i32): void {
  const open = asked & ~fixed;
  let said = 0;
  for (let some = asked & fixed & ~fields; some != 0; some &= some - 1) {
    const direction = <i32>ctz(some);
    said += digit(direction) * placeOf(direction);
  }
  const reaches = T.firsts == T.directions || reachesStep();
  const choice = choiceNumber();
  let place = (key_after * 0x9e3779b1) ^ (facts_after * 0x85ebca6b) ^ (facts_unsaid * 0xc2b2ae35);
  place =
    ((place ^ (place >>> 15)) * 0x2c1b3c6d) ^ (<i32>open * 0x297a2d39) ^ (said * 0x27d4eb2f) ^ (carried * 0x165667b1);
  place = (place ^ (place >>> 13)) >>> 3;
  for (; ; place++) {
    const at = TABLE + <usize>(4 * (place & (PLACES - 1)));
    const number = load<u32>(at);
    if (number <= era) {
      if (leaves == MOST) unreachable();
      store<u32>(at, era + <u32>(leaves + 1));
      const added = leafAt(<u32>leaves);
      leaves++;
      added.key = key_after;
      added.carried = carried;
      added.after = facts_after;
      added.unsaid = facts_unsaid;
      added.open = open;
      added.said = said;
      added.reaches = reaches;
      added.choice = choice;
      return;
    }
    const known = leafAt(number - era - 1);
    if (
      known.key != key_after ||
      known.carried != carried ||
      known.after != facts_after ||
      known.unsaid != facts_unsaid ||
      known.open != open ||
      known.said != said ||
      known.reaches != reaches
    )
      continue;
    if (choice < known.choice) known.choice = choice;
    return;
  }
}

/** The sightings of all leaves: each combination of what facts ask for beside the tick. */
function tellLeaves(): void {
  putKey();
  for (let at = 0; at < leaves; at++) {
    const leaf = leafAt(<u32>at);
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
