import { known, type Source } from './known.js';

/** One distance that is wanted, mm, for the voltage at hand. */
export interface Distance {
  readonly where: string;
  readonly condition: string;
  readonly mm: number;
  /** Upper end of the table's row, V. */
  readonly up_to_V: number;
  readonly source: Source;
}

interface Column {
  readonly condition: string;
  readonly rows: readonly (readonly [up_to_V: number, mm: number])[];
  readonly source: Source;
}

const IPC = known('second hand', 'IPC-2221B table 6-1');
const CREEPAGE = known('second hand', 'IEC 60664-1 table F.5');
const DOUBLED = known('memory', 'IEC 60664-1: reinforced creepage is twice that of basic; values second hand');

/** Clearance on a board. Only rows that are known second hand are here. */
const CLEARANCE: readonly Column[] = [
  {
    condition: 'outer layers, uncoated (B2)',
    rows: [
      [300, 1.25],
      [500, 2.5],
    ],
    source: IPC,
  },
  { condition: 'outer layers, coated (B4)', rows: [[500, 0.8]], source: IPC },
  { condition: 'component leads, uncoated (A6)', rows: [[500, 1.5]], source: IPC },
  { condition: 'component leads, coated (A7)', rows: [[500, 0.8]], source: IPC },
];

/** Creepage along a surface, pollution degree 2, by material group. */
const CREEPAGE_ROWS: readonly (readonly [up_to_V: number, I: number, II: number, III: number])[] = [
  [320, 1.6, 2.2, 3.2],
  [400, 2.0, 2.8, 4.0],
  [500, 2.5, 3.6, 5.0],
];
const GROUPS = ['I', 'II', 'III'] as const;

/**
 * Clearance and creepage wanted where the full arc voltage stands, and creepage across the barrier.
 * @param highest_V highest voltage between the parts, V; above 500 V, the last row, the list is empty
 */
export function distancesFor(highest_V: number): Distance[] {
  const at = 'at the tap, between parts at full arc voltage';
  const clearances = CLEARANCE.flatMap(({ condition, rows, source }): Distance[] => {
    const row = rows.find(([up_to_V]) => highest_V <= up_to_V);
    return row ? [{ where: at, condition: `clearance, ${condition}`, mm: row[1], up_to_V: row[0], source }] : [];
  });
  const row = CREEPAGE_ROWS.find(([up_to_V]) => highest_V <= up_to_V);
  if (!row) return clearances;
  const creepage = (where: string, times: number, source: Source) =>
    GROUPS.map((group, n): Distance => {
      const condition = `creepage, pollution degree 2, material group ${group}`;
      return { where, condition, mm: times * row[(n + 1) as 1 | 2 | 3], up_to_V: row[0], source };
    });
  return [...clearances, ...creepage(at, 1, CREEPAGE), ...creepage('at the barrier, reinforced', 2, DOUBLED)];
}
