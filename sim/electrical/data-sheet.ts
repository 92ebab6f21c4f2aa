import { type Budget, budgetOf, type Scale, scaleOf } from './budget.js';
import { type Tap, tapOf } from './circuit.js';
import { type SingleFault, singleFaults } from './faults.js';
import { type FilterFigures, filterOf, type Sampling, samplingOf } from './filter.js';
import type { LimitName, Limits } from './limits.js';
import { type ElectricalMachine, known, type Source, type Use } from './machine.js';
import { type ListedPart, partsList } from './parts.js';
import { type LimitFigures, limitFigures, violatedLimits } from './search.js';
import { type Stress, stressesOf, type Touch, touchOf } from './stress.js';

/** One distance that is wanted, mm, for the voltage at hand. */
interface Distance {
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

/** All that is computed about one design. */
export interface DataSheet {
  readonly tap: Tap;
  /** Share of the tap's current that the isolation stage takes, %. */
  readonly load_percent: number;
  readonly scale: Scale;
  readonly budget: Budget;
  readonly filter: FilterFigures;
  readonly sampling: Sampling;
  readonly stresses: readonly Stress[];
  readonly touch: Touch;
  readonly distances: readonly Distance[];
  readonly faults: readonly SingleFault[];
  readonly parts: readonly ListedPart[];
  readonly limits: Limits;
  readonly figures: LimitFigures;
  readonly violated: readonly LimitName[];
  /** In words: what a limit or a rating is not kept by; empty when every one is. */
  readonly findings: readonly string[];
}

/** The data sheet of a design. */
export function dataSheet(machine: ElectricalMachine, use: Use, limits: Limits): DataSheet {
  const figures = limitFigures(machine, use);
  const violated = violatedLimits(figures, limits);
  const scale = scaleOf(machine);
  const sampling = samplingOf(machine);
  const stresses = stressesOf(machine);
  const { supply, isolation, divider } = machine;
  const findings = [
    ...stresses
      .filter(({ kept }) => !kept)
      .map(({ part, fault }) => `${part} is loaded beyond its rating (worst case: ${fault})`),
    ...(scale.least_full_scale_V < supply.no_load_V ? ['the no-load voltage is beyond the range that is read'] : []),
    ...(scale.least_full_scale_V < use.highest_V ? ['the working range is beyond the range that is read'] : []),
    ...(sampling.needed_us > sampling.given_us ? ['a sample of the converter does not settle in its time'] : []),
    ...(supply.no_load_V > isolation.working_V ? ['the no-load voltage is above the barrier’s working voltage'] : []),
    ...(divider.top_resistors < 4 ? ['a lead is behind fewer than two protective resistors'] : []),
  ];
  return {
    tap: tapOf(machine),
    load_percent: figures.load_percent,
    scale,
    budget: budgetOf(machine, use),
    filter: filterOf(machine, use),
    sampling,
    stresses,
    touch: touchOf(machine),
    distances: distancesFor(supply.no_load_V),
    faults: singleFaults(machine, use.target_V),
    parts: partsList(machine),
    limits,
    figures,
    violated,
    findings,
  };
}
