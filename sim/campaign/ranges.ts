import type { CodeOf } from '../base/index.js';
import { StandoffError } from '../base/index.js';
import { firstContradiction, likelyPaths, ROWS_BY_PATH, SECTION_ROWS, type Setup } from '../run/setup/index.js';
import { FAULT_ROWS, type FaultKind, type Row, type Spread } from '../world/plant/index.js';

/** One quantity, and the range that it is drawn from. */
export interface Range {
  /** With its section, such as `world.arc.slope_V_per_mm`. */
  readonly path: string;
  readonly low: number;
  readonly high: number;
  readonly decimals: number;
  /** The value in the setup: what a case is simplified towards. */
  readonly nominal: number;
  readonly unit: string;
}

/** Everything that is drawn, and how often. */
export interface Ranges {
  readonly numbers: readonly Range[];
  readonly faults: readonly FaultKind[];
  /** Chance that a case has a fault; and a second one. */
  readonly fault_chance: number;
  readonly second_fault_chance: number;
  /** Chance that the operator does more than turning the key on, and the most actions. */
  readonly operator_chance: number;
  readonly operator_most: number;
}

/** The quantities whose rows say what is drawn. The order is part of a case's number: it stays. */
const DRAWN: readonly { readonly row: Row; readonly spread: Spread }[] = (['world', 'machine', 'box'] as const)
  .flatMap((section) => SECTION_ROWS[section])
  .flatMap((row) => (typeof row.drawn === 'object' ? [{ row, spread: row.drawn }] : []));

export function valueAt(setup: Setup, path: string): number | boolean {
  const found = path.split('.').reduce<unknown>((inside, word) => (inside as Record<string, unknown>)?.[word], setup);
  return found as number | boolean;
}

/** The default ranges around a setup, each within what its row allows. */
export function rangesAround(setup: Setup): Ranges {
  const numbers = DRAWN.map(({ row, spread }): Range => {
    const nominal = valueAt(setup, row.path) as number;
    const half = spread.by ?? Math.abs(nominal) * (spread.times ?? 0);
    const [low, high] = spread.to ?? [nominal - half, nominal + half];
    return {
      path: row.path,
      // The setup's own value is always within the range.
      low: clamp(rounded(Math.min(low, nominal), spread.decimals), row),
      high: clamp(rounded(Math.max(high, nominal), spread.decimals), row),
      decimals: spread.decimals,
      nominal,
      unit: row.unit,
    };
  });
  return {
    numbers,
    faults: FAULT_ROWS.map((row) => row.kind),
    fault_chance: 0.5,
    second_fault_chance: 0.15,
    operator_chance: 0.5,
    operator_most: 6,
  };
}

const rounded = (value: number, decimals: number) => Number(value.toFixed(decimals));
const clamp = (value: number, row: Row) => Math.min(row.max, Math.max(row.min, value));

/**
 * Ranges with some of them replaced: `world.arc.slope_V_per_mm=3:5`; `faults=0`, `operator=0` switch a cause off.
 * @throws StandoffError `range-form`, `range-unknown`, `range-order`, `range-limit`
 */
export function changeRanges(ranges: Ranges, setup: Setup, words: readonly string[]): Ranges {
  const names = words.map((word) => word.split('=')[0].replace(/^box\./, ''));
  const twice = names.find((name, at) => names.indexOf(name) < at);
  if (twice !== undefined) {
    throw new StandoffError('range-twice', `--range gives ${twice} twice`, 'give one range for each');
  }
  return words.reduce((before, word) => changeRange(before, setup, word), ranges);
}

/**
 * Parameters of the box that are drawn must agree with each other and with the others, anywhere in their ranges: a
 * campaign tries what a setup may hold, and nothing else.
 * @throws StandoffError `range-contradiction`
 */
export function refuseContradictingRanges({ numbers }: Ranges, setup: Setup): void {
  const drawn = numbers.filter(({ path }) => path.startsWith('box.')).slice(0, MOST_DRAWN);
  // A relation says that one value is below another, or below a limit: it is broken at a corner or nowhere.
  for (let corner = 0; corner < 2 ** drawn.length; corner++) {
    const values = drawn.map(({ path, low, high }, at) => [path.slice(4), (corner >> at) & 1 ? high : low] as const);
    const found = firstContradiction({ ...setup.box, ...Object.fromEntries(values) });
    if (found === undefined) continue;
    const what = `in some cuts of these ranges ${found.what}`;
    throw new StandoffError('range-contradiction', what, `give ranges without such cuts: ${found.remedy}`);
  }
}

/** Parameters of the box whose ranges are checked against each other; more corners would take seconds. */
const MOST_DRAWN = 14;

function changeRange(ranges: Ranges, setup: Setup, word: string): Ranges {
  const fail = (code: CodeOf<'range'>, what: string, remedy: string): never => {
    throw new StandoffError(`range-${code}`, `--range ${word}: ${what}`, remedy);
  };
  const [name = '', text = ''] = word.split('=');
  if (name === 'faults' || name === 'operator') {
    const chance = Number(text);
    if (text === '' || !(chance >= 0 && chance <= 1)) fail('limit', 'a chance lies from 0 to 1', `such as ${name}=0.5`);
    return name === 'faults'
      ? { ...ranges, fault_chance: chance, second_fault_chance: chance === 0 ? 0 : ranges.second_fault_chance }
      : { ...ranges, operator_chance: chance };
  }
  const ends = text.split(':');
  const [low, high] = ends.map(Number) as [number, number];
  if (ends.length !== 2 || ends.some((end) => end.trim() === '') || Number.isNaN(low) || Number.isNaN(high)) {
    return fail('form', 'this is not a range', 'write name=low:high, such as world.arc.slope_V_per_mm=3:5');
  }
  const path = ROWS_BY_PATH.has(name) ? name : `box.${name}`;
  const row = ROWS_BY_PATH.get(path);
  if (row === undefined || row.kind !== 'number') {
    const near = likelyPaths(name);
    const remedy = near ? `did you mean ${near}?` : 'standoff schema lists what there is';
    return fail('unknown', `there is no number ${name}`, remedy);
  }
  if (low > high) return fail('order', `${low} is above ${high}`, 'give the lower end first');
  if (low < row.min || high > row.max) {
    return fail('limit', `outside ${row.min} to ${row.max} ${row.unit}`.trimEnd(), 'stay within these limits');
  }
  const decimals = row.integer ? 0 : Math.max(0, 4 - Math.ceil(Math.log10(Math.max(Math.abs(high), 1e-4))));
  const range: Range = { path, low, high, decimals, nominal: valueAt(setup, path) as number, unit: row.unit };
  const others = ranges.numbers.filter((one) => one.path !== path);
  return { ...ranges, numbers: [...others, range] };
}
