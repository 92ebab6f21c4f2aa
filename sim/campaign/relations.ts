// Quantities of a case that follow from others: a slope that is told wrong by a share, a wave no steeper than a sheet lies.
import { ROWS_BY_PATH, type Setup } from '../run/setup/index.js';
import type { Sum } from '../world/plant/index.js';
import { isChosen, type Range, type Ranges, valueAt } from './ranges.js';

type Values = Readonly<Record<string, number>>;

/** In a case: what it draws, or else what the setup has. */
function sumOf({ of, plus = 0 }: Sum, setup: Setup, values: Values): number {
  let sum = plus;
  for (const [path, factor] of Object.entries(of)) sum += factor * (values[path] ?? (valueAt(setup, path) as number));
  return sum;
}

const between = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value));

/** A value that keeps its relations to the others, with its decimals, within what its row allows. */
function related(range: Range, value: number, setup: Setup, values: Values): number {
  const { path, decimals, at_most, at_least } = range;
  const ten = 10 ** decimals;
  let result = value;
  if (at_most !== undefined) result = Math.min(result, Math.floor(sumOf(at_most, setup, values) * ten) / ten);
  if (at_least !== undefined) result = Math.max(result, Math.ceil(sumOf(at_least, setup, values) * ten) / ten);
  const { min, max } = ROWS_BY_PATH.get(path)!;
  return between(Number(result.toFixed(decimals)), min, max);
}

/**
 * The values of a case. What follows from others is computed from them once they are all drawn; nothing follows from what follows.
 * @param units the first ones of a point of the unit cube, one a range @param box_drawn draw the box's own parameters as well
 */
export function drawnValues(setup: Setup, ranges: Ranges, units: ArrayLike<number>, box_drawn: boolean) {
  const { numbers } = ranges;
  const values: Record<string, number> = {};
  const following: (readonly [Range, number])[] = [];
  for (const [at, range] of numbers.entries()) {
    if (isChosen(range) && !box_drawn) continue;
    const share = range.either ? Math.round(units[at]) : units[at];
    const drawn = range.low + (range.high - range.low) * share;
    const { path, low, high, decimals, none_below } = range;
    const value = between(Number(drawn.toFixed(decimals)), low, high);
    values[path] = none_below !== undefined && value < none_below ? 0 : value;
    if (range.share_of ?? range.at_most ?? range.at_least) following.push([range, drawn]);
  }
  const found = following.map(([range, drawn]) => {
    const value = range.share_of ? drawn * sumOf(range.share_of, setup, values) : values[range.path];
    return [range.path, related(range, value, setup, values)] as const;
  });
  return Object.assign(values, Object.fromEntries(found));
}

/** Half of the last decimal that a share's value is rounded to, and a trace for the arithmetic. */
const ROUNDED = 0.51;

/** The quantities between which there is a relation, with the one that follows first. */
const relationOf = ({ path, share_of, at_most, at_least }: Range): readonly string[] =>
  [share_of, at_most, at_least].some((sum) => sum !== undefined)
    ? [path, ...[share_of, at_most, at_least].flatMap((sum) => Object.keys(sum?.of ?? {}))]
    : [];

/** For each relation its quantities: what is simplified together. */
export const relationsOf = ({ numbers }: Ranges): readonly (readonly string[])[] =>
  numbers.map(relationOf).filter((paths) => paths.length > 0);

/** Whether a case could have been drawn, as far as one value follows from others: simplifying it must not break that. */
export const relationsKept = (setup: Setup, { numbers }: Ranges, values: Values): boolean =>
  numbers.every((range) => {
    const { none_below = 0, either } = range;
    if (either && values[range.path] > range.low && values[range.path] < range.high) return false;
    if (values[range.path] > 0 && values[range.path] < none_below) return false;
    // The setup's own values are as they are.
    if (!relationOf(range).some((path) => values[path] !== undefined)) return true;
    const { path, low, high, decimals, share_of, nominal } = range;
    const value = values[path] ?? nominal;
    if (share_of === undefined) return related(range, value, setup, values) === value;
    const sum = sumOf(share_of, setup, values);
    const slack = ROUNDED * 10 ** -decimals;
    return value >= low * sum - slack && value <= high * sum + slack;
  });
