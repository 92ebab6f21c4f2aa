import type { MachineConfig } from './machine-config.js';
import { exactCosine, exactSine } from './series.js';
import type { WorldConfig } from './world-config.js';

const CELL_MM = 0.25;
/** Cells along a tile's side; a tile of 8 mm is taken from the pool when metal is first removed in it. */
const TILE_CELLS = 32;
const TILE_SIZE = TILE_CELLS * TILE_CELLS;
/** The map is brought up to date when the torch has moved this far. */
const STEP_MM = 0.125;
/** Metal removed less than this many kerf widths of path ago is the arc's own fresh kerf. */
const FRESH_KERFS = 3;
/** Points probed on the leading half circle, from -75 to +75 degrees. */
const PROBES = 7;
const PROBE_COSINE = Float64Array.from({ length: PROBES }, (_, n) => exactCosine((n * 25 - 75) / 360));
const PROBE_SINE = Float64Array.from({ length: PROBES }, (_, n) => exactSine((n * 25 - 75) / 360));
/** A turn sharper than this (cosine) leaves a wedge beside the stripes; the whole disc is marked there. */
const SHARP_TURN = 0.95;

/**
 * The metal that this run has removed: for each cell of a sparse grid the path length at which it went.
 * A cell keeps its first mark, so that crossing an old kerf stays a crossing.
 */
export class KerfMap {
  /** Share of the metal that is missing ahead of the arc (0…1), and the part of it that this run removed. */
  missing = 0;
  removed = 0;

  private readonly tiles_wide: number;
  private readonly tile_of: Int32Array;
  private pool = EMPTY;
  private tiles = 0;
  private readonly cells_wide: number;
  private readonly cells_high: number;
  private readonly kerf_mm: number;
  private readonly slow_growth: number;
  private readonly per_nominal: number;
  private last_x_mm = Infinity;
  private last_y_mm = Infinity;
  private last_burning = 0;
  private toward_x = 1;
  private toward_y = 0;

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
   * One millisecond: probe ahead of the torch and, while the arc burns, remove what is under it.
   * @param direction_x and direction_y unit vector of the motion; (0, 0) keeps the last one.
   */
  advance(
    x_mm: number,
    y_mm: number,
    path_mm: number,
    feed_mm_s: number,
    direction_x: number,
    direction_y: number,
    burning: number,
  ): void {
    const dx = x_mm - this.last_x_mm;
    const dy = y_mm - this.last_y_mm;
    const fresh = burning > this.last_burning;
    if (dx * dx + dy * dy <= STEP_MM * STEP_MM && !fresh) return;
    this.last_x_mm = x_mm;
    this.last_y_mm = y_mm;
    this.last_burning = burning;
    let turned = fresh;
    if (direction_x !== 0 || direction_y !== 0) {
      if (direction_x * this.toward_x + direction_y * this.toward_y < SHARP_TURN) turned = true;
      this.toward_x = direction_x;
      this.toward_y = direction_y;
    }
    const slow = Math.max(0, 1 - feed_mm_s * this.per_nominal);
    const radius_mm = 0.5 * this.kerf_mm * (1 + this.slow_growth * slow);
    this.probe(x_mm, y_mm, radius_mm, path_mm - FRESH_KERFS * this.kerf_mm);
    if (burning === 0) return;
    if (turned) this.removeDisc(x_mm, y_mm, radius_mm, path_mm);
    else this.removeStripe(x_mm, y_mm, radius_mm, path_mm);
  }

  /** The arc is out: nothing is probed until it burns again. */
  rest(): void {
    this.last_burning = 0;
    this.missing = 0;
    this.removed = 0;
  }

  private probe(x_mm: number, y_mm: number, radius_mm: number, old_mm: number): void {
    const ahead_x = this.toward_x * radius_mm;
    const ahead_y = this.toward_y * radius_mm;
    let removed = 0;
    let absent = 0;
    for (let n = 0; n < PROBES; n++) {
      const c = PROBE_COSINE[n]!;
      const s = PROBE_SINE[n]!;
      const column = Math.floor((x_mm + ahead_x * c - ahead_y * s) / CELL_MM);
      const row = Math.floor((y_mm + ahead_x * s + ahead_y * c) / CELL_MM);
      if (!(column >= 0 && row >= 0 && column < this.cells_wide && row < this.cells_high)) {
        absent++;
        continue;
      }
      const tile = this.tile_of[(row >> 5) * this.tiles_wide + (column >> 5)]!;
      if (tile === 0) continue;
      const went_mm = this.pool[(tile - 1) * TILE_SIZE + ((row & 31) << 5) + (column & 31)]!;
      if (went_mm > 0 && went_mm - 1 < old_mm) removed++;
    }
    this.removed = removed / PROBES;
    this.missing = (removed + absent) / PROBES;
  }

  private removeStripe(x_mm: number, y_mm: number, radius_mm: number, path_mm: number): void {
    const across_x = -this.toward_y;
    const across_y = this.toward_x;
    for (let offset_mm = -radius_mm; offset_mm <= radius_mm; offset_mm += CELL_MM * 0.8) {
      this.remove(x_mm + across_x * offset_mm, y_mm + across_y * offset_mm, path_mm);
    }
  }

  private removeDisc(x_mm: number, y_mm: number, radius_mm: number, path_mm: number): void {
    for (let v_mm = -radius_mm; v_mm <= radius_mm; v_mm += CELL_MM) {
      for (let u_mm = -radius_mm; u_mm <= radius_mm; u_mm += CELL_MM) {
        if (u_mm * u_mm + v_mm * v_mm <= radius_mm * radius_mm) this.remove(x_mm + u_mm, y_mm + v_mm, path_mm);
      }
    }
  }

  private remove(x_mm: number, y_mm: number, path_mm: number): void {
    const column = Math.floor(x_mm / CELL_MM);
    const row = Math.floor(y_mm / CELL_MM);
    if (!(column >= 0 && row >= 0 && column < this.cells_wide && row < this.cells_high)) return;
    const place = (row >> 5) * this.tiles_wide + (column >> 5);
    let tile = this.tile_of[place]!;
    if (tile === 0) {
      tile = this.takeTile();
      this.tile_of[place] = tile;
    }
    const cell = (tile - 1) * TILE_SIZE + ((row & 31) << 5) + (column & 31);
    // One is added so that 0 can mean "still there".
    if (this.pool[cell] === 0) this.pool[cell] = path_mm + 1;
  }

  private takeTile(): number {
    if ((this.tiles + 1) * TILE_SIZE > this.pool.length) {
      const larger = new Float32Array(Math.max(8 * TILE_SIZE, this.pool.length * 2));
      larger.set(this.pool);
      this.pool = larger;
    }
    this.tiles++;
    return this.tiles;
  }
}

/** Shared by all maps that have removed nothing yet. */
const EMPTY = new Float32Array(0);
