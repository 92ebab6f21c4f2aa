// What the ticks of a batch have led to, each with the first choice that led to it.

/** Entries that differ in more than their first word, a choice: of those that do not, the one with the least is kept. */
@unmanaged
export class Found {
  /** The entries, with room for one that is not kept yet. */
  list: usize;
  /** Of an entry. */
  bytes: usize;
  count: u32;
  /** Places of a table that finds them: twice as many, a power of two. */
  places: u32;
  /** In the table numbers of entries stand, plus `era`, which grows with every batch: what stands there of an earlier one is less. */
  table: usize;
  era: u32;
}

export function putFound(found: Found, list: usize, bytes: usize, table: usize, places: u32): Found {
  found.list = list;
  found.bytes = bytes;
  found.table = table;
  found.places = places;
  return found;
}

export function forgetAll(found: Found): void {
  found.era += found.count;
  found.count = 0;
  if (found.era < 0xf0000000) return;
  memory.fill(found.table, 0, 4 * found.places);
  found.era = 0;
}

/** Where an entry is written before it is kept. */
export function nextOf(found: Found): usize {
  return found.list + found.bytes * found.count;
}

export function keepNext(found: Found): void {
  const next = nextOf(found);
  let hash = 0;
  for (let at: usize = 4; at < found.bytes; at += 4) {
    hash = (hash ^ load<i32>(next + at)) * 0x2c1b3c6d;
    hash ^= hash >>> 15;
  }
  for (; ; hash++) {
    const place = found.table + 4 * (hash & (found.places - 1));
    const number = load<u32>(place);
    if (number <= found.era) {
      found.count++;
      if (found.count > found.places >> 1) unreachable();
      store<u32>(place, found.era + found.count);
      return;
    }
    const known = found.list + found.bytes * (number - found.era - 1);
    if (!areSame(known, next, found.bytes)) continue;
    if (load<i32>(next) < load<i32>(known)) store<i32>(known, load<i32>(next));
    return;
  }
}

/** But for their choices. */
function areSame(one: usize, other: usize, bytes: usize): bool {
  for (let at: usize = 4; at < bytes; at += 4) if (load<i32>(one + at) != load<i32>(other + at)) return false;
  return true;
}

/** A key and facts after a tick, and the least choice that has led to them. */
@unmanaged
class Sighting {
  choice: i32;
  key: i32;
  facts: i32;
  /** Bits of the key after the tick that are those before it, whatever these are; in `key` they are 0. */
  carried: i32;
}
const MOST = 32_768;
export const SIGHTINGS = memory.data(16 * (MOST + 1), 16);
const TABLE = memory.data(8 * MOST, 16);
const FOUND = putFound(changetype<Found>(memory.data(offsetof<Found>())), SIGHTINGS, 16, TABLE, 2 * MOST);

export function sightings(): i32 {
  return FOUND.count;
}

export function forgetSightings(): void {
  forgetAll(FOUND);
}

export function addSighting(choice: i32, key: i32, facts: i32, carried: i32): void {
  const sighting = changetype<Sighting>(nextOf(FOUND));
  sighting.choice = choice;
  sighting.key = key;
  sighting.facts = facts;
  sighting.carried = carried;
  keepNext(FOUND);
}
