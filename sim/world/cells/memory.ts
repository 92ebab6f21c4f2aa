import type { CellPart } from './cell.js';
import { CELLS_AT, PARTS, PLACES } from './places.js';
import type { PLANT_ARRAYS } from './plant-rows.js';

type Part = (typeof PARTS)[number];
type PartOf<Name extends Part['part']> = Extract<Part, { part: Name }>;
type CellsOf<P extends Part> = P['cells'][number];

/** Every cell as a property: `cells.arc.true_V`. */
export type Cells = {
  readonly [Name in Part['part']]: { -readonly [Cell in CellsOf<PartOf<Name>>['name']]: number };
};

/** What the host must set of a part before the first tick. */
export type Given<Name extends Part['part']> = {
  readonly [Cell in Extract<CellsOf<PartOf<Name>>, { role: 'given' }>['name']]: number;
};

type ArrayName = (typeof PLANT_ARRAYS)[number]['name'];

/** The one memory as numbers; renewed when it grows. */
interface Views {
  reals: Float64Array;
  integers: Int32Array;
}

/** A class a part, made once: its cells are accessors of the memory's views. */
function partClass(part: CellPart): new (views: Views) => object {
  class PartCells {
    constructor(readonly views: Views) {}
  }
  const { placed } = PLACES.parts.find((one) => one.part === part.part)!;
  for (const { name, type, at } of placed) {
    const view = type === 'f64' ? 'reals' : 'integers';
    const index = type === 'f64' ? at / 8 : at / 4;
    Object.defineProperty(PartCells.prototype, name, {
      get(this: PartCells) {
        return this.views[view][index];
      },
      set(this: PartCells, value: number) {
        this.views[view][index] = value;
      },
    });
  }
  return PartCells;
}
const CLASSES = PARTS.map((part) => [part.part, partClass(part)] as const);

/** A memory as WebAssembly has it, and how it is made larger by pages of 64 KiB. */
export interface GrowingMemory {
  readonly memory: { readonly buffer: ArrayBuffer };
  readonly grow: (pages: number) => void;
}

const PAGE_BYTES = 65536;

/**
 * The world's part of a memory: cells, arrays, and behind them what the host takes for plans and maps. What is taken stands
 * until `reset`; a run that needs no more than the one before gets the same places.
 */
export class WorldMemory {
  readonly cells: Cells;
  private readonly views: Views = { reals: new Float64Array(0), integers: new Int32Array(0) };
  private end: number;

  /** @param fixed_end first byte behind what stands at fixed places */
  constructor(
    private readonly growing: GrowingMemory,
    private readonly fixed_end: number,
  ) {
    this.end = fixed_end;
    this.cells = Object.fromEntries(CLASSES.map(([part, Class]) => [part, new Class(this.views)])) as Cells;
    this.reach(fixed_end);
  }

  get buffer(): ArrayBuffer {
    return this.growing.memory.buffer;
  }

  get reals(): Float64Array {
    return this.views.reals;
  }

  get integers(): Int32Array {
    return this.views.integers;
  }

  /** The place of an array, as index into `reals` or `integers`. */
  at(name: ArrayName): number {
    const { at, type } = PLACES.arrays.find((row) => row.name === name)!;
    return type === 'f64' ? at / 8 : at / 4;
  }

  /** Takes bytes behind what was taken before, eight aligned, all zero. @returns their place */
  take(bytes: number): number {
    const at = this.end;
    this.end = at + Math.ceil(bytes / 8) * 8;
    this.reach(this.end);
    return at;
  }

  /** Sets what a part must be given. */
  give<Name extends Part['part']>(part: Name, values: Given<Name>): void {
    Object.assign(this.cells[part], values);
  }

  /**
   * As new. Every byte that a run can have written is cleared; of the tiles of the kerf, taken last and by far the most,
   * only those in use.
   */
  reset(): void {
    const { kerf } = this.cells;
    const used = kerf.pool_at === 0 ? this.end : Math.min(this.end, kerf.pool_at + kerf.tiles * TILE_BYTES);
    const bytes = new Uint8Array(this.buffer);
    bytes.fill(0, CELLS_AT, PLACES.end);
    bytes.fill(0, this.fixed_end, used);
    this.end = this.fixed_end;
  }

  private reach(end: number): void {
    const missing = end - this.buffer.byteLength;
    if (missing > 0) this.growing.grow(Math.ceil(missing / PAGE_BYTES));
    if (this.views.integers.buffer === this.buffer) return;
    this.views.reals = new Float64Array(this.buffer);
    this.views.integers = new Int32Array(this.buffer);
  }
}

/** A tile of the kerf map: 32 by 32 cells, a bit each. */
export const TILE_BYTES = 128;
