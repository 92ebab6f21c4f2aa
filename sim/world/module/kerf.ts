// The metal that this run has removed, as a sparse map of cells. What the arc cuts now enters the map only after three kerf
// widths of path, so that the arc never meets its own fresh kerf.
import { FRESH_CUTS, kerf, PROBE_COSINE, PROBE_SINE, place } from './cells.gen';

/** Cells a millimetre. */
const CELLS_PER_MM: f64 = 4;
/** Added to a place in cells so that cutting off the fraction rounds down also a little outside the sheet. */
const SHIFT: i32 = 65536;
const SHIFT_REAL: f64 = 65536;
/** The map is brought up to date when the torch has moved this far. */
const STEP_MM: f64 = 0.199;
/** Metal removed less than this many kerf widths of path ago is the arc's own fresh kerf. */
const FRESH_KERFS: f64 = 3;
/** This many kerf widths along metal of which most is gone is no crossing: a contour has closed. */
const FREE_KERFS: f64 = 2;
const MOST_GONE: f64 = 0.5;
/** Share of its depth that a part sinks in a tick (assumption: a fall of 2 mm takes 20 ms). */
const DROP_SHARE: f64 = 0.05;
/** Points probed on the leading half circle. */
const PROBES: usize = 7;
/** A turn sharper than this (cosine) leaves a wedge beside the stripes; the whole disc is taken there. */
const SHARP_TURN: f64 = 0.95;
/** More cuts than three kerf widths of path can hold (5 mm · 3 · 1.5 / 0.199 mm = 113); a power of two. */
const RING: i32 = 128;

/** A fresh cut in the ring: place, half width across the motion, path length. */
@unmanaged
class Cut {
  x_mm: f64;
  y_mm: f64;
  across_x: f64;
  across_y: f64;
  path_mm: f64;
  /** 1: the whole disc, not a stripe. */
  disc: f64;
}

function cutAt(index: i32): Cut {
  return changetype<Cut>(FRESH_CUTS + <usize>(index & (RING - 1)) * offsetof<Cut>());
}

/**
 * One millisecond: probe ahead of the torch and, while the arc burns, remove what is under it. A direction of (0, 0) keeps
 * the last one.
 */
export function advanceKerf(burning: i32): void {
  if (kerf.drop_mm > 0) drop(burning);
  const dx = place.x_mm - kerf.last_x_mm;
  const dy = place.y_mm - kerf.last_y_mm;
  if (dx * dx + dy * dy < STEP_MM * STEP_MM && burning <= kerf.last_burning) return;
  update(burning);
}

/**
 * A part is free once the arc has run along metal that is gone; it sinks, and the arc that still burns beside it gets longer.
 * An arc that comes to whole metal roots there again.
 */
function drop(burning: i32): void {
  const change_mm = kerf.drop_mm * DROP_SHARE;
  if (burning == 0 || kerf.removed < MOST_GONE) {
    kerf.whole_path_mm = place.path_mm;
    kerf.dropped_mm = max<f64>(0, kerf.dropped_mm - change_mm);
  } else if (place.path_mm - kerf.whole_path_mm > FREE_KERFS * kerf.kerf_mm) {
    kerf.dropped_mm = min<f64>(kerf.drop_mm, kerf.dropped_mm + change_mm);
  }
}

/** The arc is out: nothing is probed until the supply is called again. */
export function restKerf(): void {
  kerf.last_burning = 0;
  kerf.last_x_mm = Infinity;
  kerf.ahead = 0;
  kerf.removed = 0;
  kerf.dropped_mm = 0;
}

function update(burning: i32): void {
  const direction_x = place.direction_x;
  const direction_y = place.direction_y;
  let disc = burning > kerf.last_burning;
  if (direction_x != 0 || direction_y != 0) {
    if (direction_x * kerf.last_direction_x + direction_y * kerf.last_direction_y < SHARP_TURN) disc = true;
    kerf.last_direction_x = direction_x;
    kerf.last_direction_y = direction_y;
  }
  kerf.last_x_mm = place.x_mm;
  kerf.last_y_mm = place.y_mm;
  kerf.last_burning = burning;
  const slow = max<f64>(0, 1.0 - place.feed_mm_s * kerf.per_nominal);
  const radius_mm = 0.5 * kerf.kerf_mm * (1.0 + kerf.slow_growth * slow);
  settle(place.path_mm - FRESH_KERFS * kerf.kerf_mm);
  probe(radius_mm);
  if (burning != 0) cut(radius_mm, disc);
}

/** Notes a fresh cut; if the ring is full (path standing still), the oldest enters the map early. */
function cut(radius_mm: f64, disc: bool): void {
  if (kerf.ring_count == RING) enterOldest();
  const fresh = cutAt(kerf.ring_first + kerf.ring_count);
  kerf.ring_count++;
  fresh.x_mm = kerf.last_x_mm;
  fresh.y_mm = kerf.last_y_mm;
  fresh.across_x = -kerf.last_direction_y * radius_mm;
  fresh.across_y = kerf.last_direction_x * radius_mm;
  fresh.path_mm = place.path_mm;
  fresh.disc = disc ? 1 : 0;
}

/** Enters what was cut before a path length into the map. */
function settle(old_mm: f64): void {
  while (kerf.ring_count > 0 && cutAt(kerf.ring_first).path_mm < old_mm) enterOldest();
}

function enterOldest(): void {
  const oldest = cutAt(kerf.ring_first);
  kerf.ring_first = (kerf.ring_first + 1) & (RING - 1);
  kerf.ring_count--;
  const x = oldest.x_mm * CELLS_PER_MM + SHIFT_REAL;
  const y = oldest.y_mm * CELLS_PER_MM + SHIFT_REAL;
  const across_x = oldest.across_x * CELLS_PER_MM;
  const across_y = oldest.across_y * CELLS_PER_MM;
  const radius = sqrt<f64>(across_x * across_x + across_y * across_y);
  if (oldest.disc == 1) {
    removeDisc(x, y, radius);
    return;
  }
  const steps = ceil<f64>(radius);
  const part = 1.0 / steps;
  for (let n = -steps; n <= steps; n++) remove(x + across_x * n * part, y + across_y * n * part);
}

function removeDisc(x: f64, y: f64, radius: f64): void {
  for (let v = -radius; v <= radius; v++) {
    for (let u = -radius; u <= radius; u++) {
      if (u * u + v * v <= radius * radius) remove(x + u, y + v);
    }
  }
}

function onSheet(column: i32, row: i32): bool {
  return column >= 0 && row >= 0 && column < kerf.cells_wide && row < kerf.cells_high;
}

/** Where the number of the tile stands that has this cell. */
function tilePlace(column: i32, row: i32): usize {
  return <usize>kerf.tile_of_at + ((<usize>((row >> 5) * kerf.tiles_wide + (column >> 5))) << 2);
}

/** The word with the bits of this row of a tile. */
function wordAt(tile: i32, row: i32): usize {
  return <usize>kerf.pool_at + ((<usize>((tile << 5) + (row & 31))) << 2);
}

function remove(x: f64, y: f64): void {
  const column = <i32>x - SHIFT;
  const row = <i32>y - SHIFT;
  if (!onSheet(column, row)) return;
  const at = tilePlace(column, row);
  let tile = load<i32>(at);
  if (tile == 0) {
    tile = kerf.tiles++;
    store<i32>(at, tile);
  }
  const word = wordAt(tile, row);
  store<u32>(word, load<u32>(word) | (1 << (column & 31)));
}

function probe(radius_mm: f64): void {
  const x = place.x_mm * CELLS_PER_MM + SHIFT_REAL;
  const y = place.y_mm * CELLS_PER_MM + SHIFT_REAL;
  const ahead_x = kerf.last_direction_x * radius_mm * CELLS_PER_MM;
  const ahead_y = kerf.last_direction_y * radius_mm * CELLS_PER_MM;
  let removed: u32 = 0;
  let absent: u32 = 0;
  for (let n: usize = 0; n < PROBES; n++) {
    const c = load<f64>(PROBE_COSINE + (n << 3));
    const s = load<f64>(PROBE_SINE + (n << 3));
    const column = <i32>(x + ahead_x * c - ahead_y * s) - SHIFT;
    const row = <i32>(y + ahead_x * s + ahead_y * c) - SHIFT;
    if (onSheet(column, row)) {
      removed += (load<u32>(wordAt(load<i32>(tilePlace(column, row)), row)) >>> (column & 31)) & 1;
    } else {
      absent++;
    }
  }
  kerf.removed = <f64>removed / <f64>PROBES;
  kerf.ahead = <f64>(removed + absent) / <f64>PROBES;
}
