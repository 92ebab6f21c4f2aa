// One part of the world, a file: the metal that is gone.
import type { MachineConfig, WorldConfig } from './config.gen.js';
import { exactCosine, exactSine, SIGNAL } from './signals.js';

// The engine folds constants of this module but not imported ones, hence the local names.
const AT = SIGNAL;

const CELL_MM = 0.25;
const CELLS_PER_MM = 1 / CELL_MM;
/** Added to a place in cells so that cutting off the fraction rounds down also a little outside the sheet. */
const SHIFT = 65536;
/** Cells along a tile's side: one bit each, one 32-bit word a row; a tile is 8 mm wide. */
const TILE_CELLS = 32;
/** The map is brought up to date when the torch has moved this far. */
const STEP_MM = 0.199;
/** Metal removed less than this many kerf widths of path ago is the arc's own fresh kerf. */
const FRESH_KERFS = 3;
/** Points probed on the leading half circle, from -75 to +75 degrees. */
const PROBES = 7;
const PROBE_COSINE = Float64Array.from({ length: PROBES }, (_, n) => exactCosine((n * 25 - 75) / 360));
const PROBE_SINE = Float64Array.from({ length: PROBES }, (_, n) => exactSine((n * 25 - 75) / 360));
/** A turn sharper than this (cosine) leaves a wedge beside the stripes; the whole disc is taken there. */
const SHARP_TURN = 0.95;

/** The fresh cuts wait in a ring: x, y, half width across the motion in x and y, path length, 1 for a disc. */
const CUT = { x_mm: 0, y_mm: 1, across_x: 2, across_y: 3, path_mm: 4, disc: 5 } as const;
const CUT_SIZE = 6;
/** More cuts than three kerf widths of path can hold (5 mm · 3 · 1.5 / 0.199 mm = 113); a power of two. */
const RING = 128;

/**
 * The metal that this run has removed, as a sparse map of cells. What the arc cuts now enters the map
 * only after three kerf widths of path, so that the arc never meets its own fresh kerf.
 */
export class KerfMap {
  private readonly tiles_wide: number;
  private readonly tile_of: Int32Array;
  private pool = EMPTY;
  /** Tiles in use; number 0 is the untouched tile that the whole sheet begins with. */
  private tiles = 1;
  private readonly cells_wide: number;
  private readonly cells_high: number;
  private readonly kerf_mm: number;
  private readonly slow_growth: number;
  private readonly per_nominal: number;
  private last_burning = 0;
  /** Where the map was last brought up to date, and the direction of the motion there. */
  private readonly last = new Float64Array([Infinity, Infinity, 1, 0]);
  private readonly ring = new Float64Array(RING * CUT_SIZE);
  private ring_first = 0;
  private ring_count = 0;

  constructor(machine: MachineConfig, world: WorldConfig) {
    const { sheet_width_mm, sheet_height_mm } = machine.table;
    this.cells_wide = Math.ceil(sheet_width_mm / CELL_MM);
    this.cells_high = Math.ceil(sheet_height_mm / CELL_MM);
    this.tiles_wide = Math.ceil(this.cells_wide / TILE_CELLS);
    this.tile_of = new Int32Array(this.tiles_wide * Math.ceil(this.cells_high / TILE_CELLS));
    this.kerf_mm = world.arc.kerf_mm;
    this.slow_growth = world.arc.kerf_slow_growth;
    this.per_nominal = 1 / world.arc.nominal_feed_mm_s;
  }

  /**
   * One millisecond: probe ahead of the torch (`ahead`, `removed` of the signals) and, while the arc
   * burns, remove what is under it. A direction of (0, 0) keeps the last one.
   */
  advance(signals: Float64Array, burning: number): void {
    const { last } = this;
    const dx = signals[AT.x_mm] - last[0];
    const dy = signals[AT.y_mm] - last[1];
    if (dx * dx + dy * dy < STEP_MM * STEP_MM && burning <= this.last_burning) return;
    this.update(signals, burning);
  }

  /** The arc is out: nothing is probed until the supply is called again. */
  rest(signals: Float64Array): void {
    this.last_burning = 0;
    this.last[0] = Infinity;
    signals[AT.ahead] = 0;
    signals[AT.removed] = 0;
  }

  private update(signals: Float64Array, burning: number): void {
    const { last } = this;
    const direction_x = signals[AT.direction_x];
    const direction_y = signals[AT.direction_y];
    let disc = burning > this.last_burning ? 1 : 0;
    if (direction_x !== 0 || direction_y !== 0) {
      if (direction_x * last[2] + direction_y * last[3] < SHARP_TURN) disc = 1;
      last[2] = direction_x;
      last[3] = direction_y;
    }
    last[0] = signals[AT.x_mm];
    last[1] = signals[AT.y_mm];
    this.last_burning = burning;
    const slow = Math.max(0, 1 - signals[AT.feed_mm_s] * this.per_nominal);
    const radius_mm = 0.5 * this.kerf_mm * (1 + this.slow_growth * slow);
    this.settle(signals[AT.path_mm] - FRESH_KERFS * this.kerf_mm);
    this.probe(signals, radius_mm);
    if (burning !== 0) this.cut(signals, radius_mm, disc);
  }

  /** Note a fresh cut; if the ring is full (path standing still), the oldest enters the map early. */
  private cut(signals: Float64Array, radius_mm: number, disc: number): void {
    if (this.ring_count === RING) this.enterOldest();
    const { ring, last } = this;
    const at = ((this.ring_first + this.ring_count) & (RING - 1)) * CUT_SIZE;
    this.ring_count++;
    ring[at + CUT.x_mm] = last[0];
    ring[at + CUT.y_mm] = last[1];
    ring[at + CUT.across_x] = -last[3] * radius_mm;
    ring[at + CUT.across_y] = last[2] * radius_mm;
    ring[at + CUT.path_mm] = signals[AT.path_mm];
    ring[at + CUT.disc] = disc;
  }

  /** Enter what was cut before a path length into the map. */
  private settle(old_mm: number): void {
    while (this.ring_count > 0 && this.ring[this.ring_first * CUT_SIZE + CUT.path_mm] < old_mm) this.enterOldest();
  }

  private enterOldest(): void {
    const { ring } = this;
    const at = this.ring_first * CUT_SIZE;
    this.ring_first = (this.ring_first + 1) & (RING - 1);
    this.ring_count--;
    const x = ring[at + CUT.x_mm] * CELLS_PER_MM + SHIFT;
    const y = ring[at + CUT.y_mm] * CELLS_PER_MM + SHIFT;
    const across_x = ring[at + CUT.across_x] * CELLS_PER_MM;
    const across_y = ring[at + CUT.across_y] * CELLS_PER_MM;
    const radius = Math.sqrt(across_x * across_x + across_y * across_y);
    if (ring[at + CUT.disc] === 1) {
      this.removeDisc(x, y, radius);
      return;
    }
    const steps = Math.ceil(radius);
    const part = 1 / steps;
    for (let n = -steps; n <= steps; n++) this.remove(x + across_x * n * part, y + across_y * n * part);
  }

  private removeDisc(x: number, y: number, radius: number): void {
    for (let v = -radius; v <= radius; v++) {
      for (let u = -radius; u <= radius; u++) {
        if (u * u + v * v <= radius * radius) this.remove(x + u, y + v);
      }
    }
  }

  private remove(x: number, y: number): void {
    const column = (x | 0) - SHIFT;
    const row = (y | 0) - SHIFT;
    if (!(column >= 0 && row >= 0 && column < this.cells_wide && row < this.cells_high)) return;
    const place = (row >> 5) * this.tiles_wide + (column >> 5);
    let tile = this.tile_of[place];
    if (tile === 0) {
      tile = this.takeTile();
      this.tile_of[place] = tile;
    }
    this.pool[(tile << 5) + (row & 31)] |= 1 << (column & 31);
  }

  private probe(signals: Float64Array, radius_mm: number): void {
    const x = signals[AT.x_mm] * CELLS_PER_MM + SHIFT;
    const y = signals[AT.y_mm] * CELLS_PER_MM + SHIFT;
    const ahead_x = this.last[2] * radius_mm * CELLS_PER_MM;
    const ahead_y = this.last[3] * radius_mm * CELLS_PER_MM;
    const { pool, tile_of, tiles_wide, cells_wide, cells_high } = this;
    let removed = 0;
    let absent = 0;
    for (let n = 0; n < PROBES; n++) {
      const c = PROBE_COSINE[n];
      const s = PROBE_SINE[n];
      const column = ((x + ahead_x * c - ahead_y * s) | 0) - SHIFT;
      const row = ((y + ahead_x * s + ahead_y * c) | 0) - SHIFT;
      if (column >= 0 && row >= 0 && column < cells_wide && row < cells_high) {
        const tile = tile_of[(row >> 5) * tiles_wide + (column >> 5)];
        removed += (pool[(tile << 5) + (row & 31)] >>> (column & 31)) & 1;
      } else {
        absent++;
      }
    }
    signals[AT.removed] = removed / PROBES;
    signals[AT.ahead] = (removed + absent) / PROBES;
  }

  private takeTile(): number {
    const tile = this.tiles++;
    if (this.tiles * TILE_CELLS > this.pool.length) {
      const larger = new Int32Array(Math.max(32 * TILE_CELLS, this.pool.length * 2));
      larger.set(this.pool);
      this.pool = larger;
    }
    return tile;
  }
}

/** The untouched tile, shared by all maps that have removed nothing yet; never written to. */
const EMPTY = new Int32Array(TILE_CELLS);
