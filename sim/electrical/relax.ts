// Which limit stands in the way when no design keeps them all, and by how much it has to give.
import { LIMIT_ROWS, type LimitName, type LimitRow, type Limits } from './limits.js';
import type { ElectricalMachine, Use } from './machine.js';
import { type LimitFigures, searchDesigns } from './search.js';

/** Limits that let a design through when they are loosened together; each to its new value. */
export type Relaxation = Readonly<Partial<Record<LimitName, number>>>;

/**
 * What may give, one after the other, then together. The current in a touched lead comes last and alone: that limit
 * protects whoever touches it.
 */
const MAY_GIVE: readonly (readonly LimitName[])[] = [
  ['wander_mm'],
  ['step_mm'],
  ['headroom_percent'],
  ['short_mm'],
  ['load_percent'],
  ['delay_ms'],
  ['inverter_percent'],
  ['wander_mm', 'step_mm'],
  ['wander_mm', 'step_mm', 'headroom_percent'],
  ['wander_mm', 'step_mm', 'headroom_percent', 'load_percent'],
  ['lead_mA'],
];
/** A limit that has to give more than this is no limit any more. */
export const MOST_TIMES = 4;
/** A share by which a limit may give without a second thought. */
const LITTLE = 0.25;
/** Relaxations that are told. */
const TOLD = 3;

const rowOf = (name: LimitName): LimitRow => LIMIT_ROWS.find((row) => row.name === name)!;

/** A limit loosened by a factor, within its range. */
function loosened({ name, wanted, min, max }: LimitRow, limits: Limits, times: number): number {
  return wanted === 'at least' ? Math.max(min, limits[name] / times) : Math.min(max, limits[name] * times);
}

/** Rounded to two digits towards the loose side: what is typed keeps what was found. */
export function typedLimit(name: LimitName, value: number): number {
  const { wanted, min, max } = rowOf(name);
  if (value === 0) return 0;
  const unit = 10 ** (Math.floor(Math.log10(Math.abs(value))) - 1);
  // A hair more than a whole number of units is that number.
  const units = value / unit;
  const rounded = wanted === 'at least' ? Math.floor(units + 1e-9) : Math.ceil(units - 1e-9);
  return Math.min(max, Math.max(min, Number((rounded * unit).toPrecision(2))));
}

/** How much a limit gave, as a share of what it was. */
function given(name: LimitName, value: number, limits: Limits): number {
  const was = limits[name];
  return rowOf(name).wanted === 'at least' ? (was - value) / Math.max(was, 1e-9) : value / was - 1;
}

const gives = (relaxation: Relaxation, limits: Limits): number =>
  Object.entries(relaxation).reduce((sum, [name, value]) => sum + given(name as LimitName, value, limits), 0);

/**
 * The least that has to give for a design to be found, the least first; each was tried as it would be typed.
 * @returns empty: nothing within `MOST_TIMES` helps; other parts are wanted
 */
export function relaxations(machine: ElectricalMachine, use: Use, limits: Limits): Relaxation[] {
  const found: Relaxation[] = [];
  for (const names of MAY_GIVE) {
    // More limits at once, or the current in a lead, only where one that gives little does not help.
    const helped = found.some((one) => gives(one, limits) <= LITTLE);
    if ((names.length > 1 && helped) || (names[0] === 'lead_mA' && found.length > 0)) break;
    const wide = { ...limits };
    for (const name of names) wide[name] = loosened(rowOf(name), limits, MOST_TIMES);
    const { proposals } = searchDesigns(machine, use, wide, Number.POSITIVE_INFINITY);
    const best = proposals
      .map(({ figures }) => asTyped(names, figures, limits))
      .sort((a, b) => gives(a, limits) - gives(b, limits))[0];
    if (best !== undefined && searchDesigns(machine, use, { ...limits, ...best }, 1).kept > 0) found.push(best);
  }
  return found.sort((a, b) => gives(a, limits) - gives(b, limits)).slice(0, TOLD);
}

/** The limits that these figures need, where the present ones are not enough. */
function asTyped(names: readonly LimitName[], figures: LimitFigures, limits: Limits): Relaxation {
  const needed = names.filter((name) => {
    const { wanted } = rowOf(name);
    return wanted === 'at least' ? figures[name] < limits[name] : figures[name] > limits[name];
  });
  return Object.fromEntries(needed.map((name) => [name, typedLimit(name, figures[name])]));
}
