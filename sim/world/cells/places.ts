import type { ArrayRow, CellPart } from './cell.js';
import { PLANT_ARRAYS, PLANT_PARTS } from './plant-rows.js';
import { TABLE_PARTS } from './table-rows.js';

/** Every part of the world module's memory. */
export const PARTS = [...PLANT_PARTS, ...TABLE_PARTS] as const;

/**
 * Where the world's cells begin: a page of the memory is the control module's, though on the board it has only 4608 bytes
 * of it.
 */
export const CELLS_AT = 65536;

const BYTES = { f64: 8, i32: 4 } as const;
const aligned = (bytes: number): number => Math.ceil(bytes / 8) * 8;

export interface PlacedPart extends CellPart {
  readonly at: number;
  /** In the order of the memory: reals first. */
  readonly placed: readonly { readonly name: string; readonly type: 'f64' | 'i32'; readonly at: number }[];
}

/** The parts one after the other from CELLS_AT, then the arrays. */
function placeAll() {
  let end = CELLS_AT;
  const parts = PARTS.map((part: CellPart): PlacedPart => {
    const at = end;
    const placed = (['f64', 'i32'] as const).flatMap((type) =>
      part.cells
        .filter((cell) => cell.type === type)
        .map(({ name }) => {
          const place = { name, type, at: end };
          end += BYTES[type];
          return place;
        }),
    );
    end = aligned(end);
    return { ...part, at, placed };
  });
  const arrays = PLANT_ARRAYS.map((row: ArrayRow) => {
    const at = end;
    end = aligned(end + row.count * BYTES[row.type]);
    return { ...row, at };
  });
  return { parts, arrays, end };
}

/** Cells and arrays with their places, and the first byte behind them. */
export const PLACES = placeAll();
