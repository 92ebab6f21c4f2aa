// What the ticks of a batch have led to, each with the first choice that led to it.

/** Sightings that a batch may have, and the places in the table that finds them: twice as many, a power of two. */
const MOST = 32_768;
const PLACES = 2 * MOST;

/** A key and facts after a tick, and the least choice that has led to them. */
@unmanaged
class Sighting {
  choice: i32;
  key: i32;
  facts: i32;
  /** Bits of the key after the tick that are those before it, whatever these are; in `key` they are 0. */
  carried: i32;
}
const LIST = memory.data(16 * MOST, 16);
/** Number of a sighting in the list, plus `era`, which grows with every batch: what stands there of an earlier one is less. */
const TABLE = memory.data(4 * PLACES, 16);
let era: u32 = 0;
let count: i32 = 0;

export function sightings_at(): usize {
  return LIST;
}
export function sightings(): i32 {
  return count;
}

export function forgetSightings(): void {
  era += <u32>count;
  count = 0;
  if (era < 0xf0000000) return;
  memory.fill(TABLE, 0, 4 * PLACES);
  era = 0;
}

export function addSighting(choice: i32, key: i32, facts: i32, carried: i32): void {
  let place = ((key * 0x9e3779b1) ^ (facts * 0x85ebca6b) ^ (carried * 0x27d4eb2f)) >>> 15;
  for (; ; place++) {
    const at = TABLE + <usize>(4 * (place & (PLACES - 1)));
    const number = load<u32>(at);
    if (number <= era) {
      if (count == MOST) unreachable();
      store<u32>(at, era + <u32>(count + 1));
      const added = changetype<Sighting>(LIST + <usize>(16 * count));
      count++;
      added.choice = choice;
      added.key = key;
      added.facts = facts;
      added.carried = carried;
      return;
    }
    const known = changetype<Sighting>(LIST + <usize>(16 * (number - era - 1)));
    if (known.key != key || known.facts != facts || known.carried != carried) continue;
    if (choice < known.choice) known.choice = choice;
    return;
  }
}
