import type { CodeOf } from '../base/index.js';
import { StandoffError } from '../base/index.js';
import { firstContradiction, likelyPaths, ROWS_BY_PATH, SECTION_ROWS, type Setup } from '../run/setup/index.js';
import { FAULT_ROWS, type FaultKind, type Row, type Spread, type Sum } from '../world/plant/index.js';

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
  /** `low` and `high` are shares of this sum, not values. */
  readonly share_of?: Sum;
  /** What was drawn is brought down to the one, and up to the other. */
  readonly at_most?: Sum;
  readonly at_least?: Sum;
  /** What is drawn below this is 0. */
  readonly none_below?: number;
  /** `low` or `high`, and nothing between. */
  readonly either?: boolean;
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
  /** Chance that the parameters of the box are drawn; else they are as the setup has them. What follows from the world always is. */
  readonly box_chance: number;
}

/** The quantities whose rows say what is drawn. The order is part of a case's number: it stays. */
const DRAWN: readonly { readonly row: Row; readonly spread: Spread }[] = (['world', 'machine', 'box'] as const)
  .flatMap((section) => SECTION_ROWS[section])
  .flatMap((row) => (typeof row.drawn === 'object' ? [{ row, spread: row.drawn }] : []));

export function valueAt(setup: Setup, path: string): number | boolean {
  const found = path.split('.').reduce<unknown>((inside, word) => (inside as Record<string, unknown>)?.[word], setup);
  return found as number | boolean;
}

/** A parameter of the box that is drawn for its own sake, and not because it follows from the world. */
export const isChosen = ({ path, share_of, at_least }: Range) =>
  path.startsWith('box.') && share_of === undefined && at_least === undefined;

function rangeAround(setup: Setup, row: Row, spread: Spread): Range {
  const nominal = valueAt(setup, row.path) as number;
  const half = spread.by ?? Math.abs(nominal) * (spread.times ?? 0);
  const [low, high] = spread.to ?? [nominal - half, nominal + half];
  const { decimals, share_of, at_most, at_least, none_below, either } = spread;
  const one = { path: row.path, decimals, nominal, unit: row.unit };
  if (share_of !== undefined) return { ...one, low, high, share_of };
  return {
    ...one,
    // The setup's own value is always within the range.
    low: clamp(rounded(Math.min(low, nominal), decimals), row),
    high: clamp(rounded(Math.max(high, nominal), decimals), row),
    ...(at_most && { at_most }),
    ...(at_least && { at_least }),
    ...(none_below !== undefined && { none_below }),
    ...(either && { either }),
  };
}

/**
 * The default ranges around a setup, each within what its row allows. A parameter of the box whose range would contradict
 * another one is left out: the setup's own value is cut.
 */
export function rangesAround(setup: Setup): Ranges {
  const all = DRAWN.map(({ row, spread }) => rangeAround(setup, row, spread));
  const numbers: Range[] = [];
  for (const range of all) {
    if (isChosen(range) && contradictionIn([...numbers, range], setup) !== undefined) continue;
    numbers.push(range);
  }
  return {
    numbers,
    faults: FAULT_ROWS.map((row) => row.kind),
    fault_chance: 0.5,
    second_fault_chance: 0.15,
    operator_chance: 0.5,
    operator_most: 6,
    box_chance: 0.5,
  };
}

const rounded = (value: number, decimals: number) => Number(value.toFixed(decimals));
const clamp = (value: number, row: Row) => Math.min(row.max, Math.max(row.min, value));

/**
 * Ranges with some of them replaced: `world.arc.slope_V_per_mm=3:5`; `faults=0`, `operator=0`, `box=0` switch a cause off.
 * @throws StandoffError `range-form`, `range-unknown`, `range-order`, `range-limit`
 */
export function changeRanges(ranges: Ranges, setup: Setup, words: readonly string[]): Ranges {
  const names = words.map((word) => word.split('=')[0].replace(/^box\./, ''));
  const twice = names.find((name, at) => names.indexOf(name) < at);
  if (twice !== undefined) {
    throw new StandoffError('range-twice', `--range gives ${twice} twice`, 'give one range for each');
  }
  const named = names.some((name) => ROWS_BY_PATH.has(`box.${name}`));
  // Who names a parameter wants to know about that one: no other is drawn, and this one in every cut.
  const before = named
    ? { ...ranges, box_chance: 1, numbers: ranges.numbers.filter((range) => !isChosen(range)) }
    : ranges;
  return words.reduce((changed, word) => changeRange(changed, setup, word), before);
}

/**
 * Parameters of the box that are drawn must agree with each other and with the others, anywhere in their ranges: a
 * campaign tries what a setup may hold, and nothing else.
 * @throws StandoffError `range-contradiction`
 */
export function refuseContradictingRanges({ numbers }: Ranges, setup: Setup): void {
  const found = contradictionIn(numbers, setup);
  if (found === undefined) return;
  const what = `in some cuts of these ranges ${found.what}`;
  throw new StandoffError('range-contradiction', what, `give ranges without such cuts: ${found.remedy}`);
}

/** A relation says that one value is below another, or below a limit: it is broken at a corner or nowhere. */
function contradictionIn(numbers: readonly Range[], setup: Setup) {
  const drawn = numbers.filter(isChosen).slice(0, MOST_DRAWN);
  for (let corner = 0; corner < 2 ** drawn.length; corner++) {
    const values = drawn.map(({ path, low, high }, at) => [path.slice(4), (corner >> at) & 1 ? high : low] as const);
    const found = firstContradiction({ ...setup.box, ...Object.fromEntries(values) });
    if (found !== undefined) return found;
  }
  return undefined;
}

/** Parameters of the box whose ranges are checked against each other; more corners would take seconds. */
const MOST_DRAWN = 14;

function changeRange(ranges: Ranges, setup: Setup, word: string): Ranges {
  const fail = (code: CodeOf<'range'>, what: string, remedy: string): never => {
    throw new StandoffError(`range-${code}`, `--range ${word}: ${what}`, remedy);
  };
  const [name = '', text = ''] = word.split('=');
  if (name === 'faults' || name === 'operator' || name === 'box') {
    const chance = Number(text);
    if (text === '' || !(chance >= 0 && chance <= 1)) fail('limit', 'a chance lies from 0 to 1', `such as ${name}=0.5`);
    if (name === 'box') return { ...ranges, box_chance: chance };
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

/**
 * A number of the box to be tried over a range.
 * @param words `name`, or `name=low:high`; without a range from the present value divided by `factor` to that times it
 * @throws StandoffError `map-…` or `tune-…`: `unknown`, `elsewhere`, `range`
 */
export function boxParameter(words: string, setup: Setup, asked: 'map' | 'tune', factor: number) {
  const [given = '', text] = words.split('=');
  const name = given.trim().replace(/^box\./, '');
  const row = SECTION_ROWS.box.find((one) => one.path === `box.${name}`);
  if (row === undefined) throw unknownParameter(name, asked);
  const present = valueAt(setup, `box.${name}`) as number;
  const [low, high] =
    text === undefined ? [Math.max(row.min, present / factor), Math.min(row.max, present * factor)] : endsOf(text);
  if (!(low < high) || low < row.min || high > row.max || (row.integer && Math.round(low) === Math.round(high))) {
    const remedy = `give ${name}=low:high within ${row.min} to ${row.max} ${row.unit}`.trimEnd();
    throw new StandoffError(`${asked}-range`, `${name} from ${low} to ${high} is no range for it`, remedy);
  }
  return { name, row, present, low, high };
}

function unknownParameter(name: string, asked: 'map' | 'tune'): StandoffError {
  if (ROWS_BY_PATH.has(name)) {
    const remedy = 'only parameters of the section box are tried; change this one with --set';
    return new StandoffError(`${asked}-elsewhere`, `${name} is not in the box`, remedy);
  }
  const longer = SECTION_ROWS.box.map((one) => one.path.slice(4)).filter((path) => path.startsWith(`${name}_`));
  const near = name !== '' && longer.length > 0 ? longer.slice(0, 3).join(' or ') : likelyPaths(name);
  const remedy = near ? `did you mean ${near}?` : 'standoff schema lists what there is';
  return new StandoffError(`${asked}-unknown`, `there is no parameter ${name}`, remedy);
}

function endsOf(text: string): [number, number] {
  const [low, high, more] = text.split(':');
  return more === undefined && low !== undefined && high !== undefined && low.trim() !== '' && high.trim() !== ''
    ? [Number(low), Number(high)]
    : [Number.NaN, Number.NaN];
}

/** What can spoil a cut besides the values in the box, and what a person can do about it. */
interface Cause {
  readonly name: string;
  /** In a sentence: what a cut without it is. */
  readonly without: string;
  readonly remedy: string;
  /** The ranges with it taken away: by path the one value that is left, or with `share_of` the one share. */
  readonly values: (box: Setup['box']) => Readonly<Record<string, number>>;
}

const zero = (section: string, ...names: string[]) =>
  Object.fromEntries(names.map((name) => [`${section}.${name}`, 0]));

/** Each can be taken out of the worlds that are drawn, all else equal: what the cuts then gain is what it costs. */
export const CAUSES: readonly Cause[] = [
  {
    name: 'V/mm unknown',
    without: 'the box told the true V/mm of the arc',
    remedy: 'measure it with two cuts at two heights: arc_slope_V_per_mm',
    values: () => ({ 'box.arc_slope_V_per_mm': 1 }),
  },
  {
    name: 'steps per mm',
    without: 'steps per mm that are right on every axis',
    remedy: 'measure a long travel of each axis: x_steps_per_mm, y_steps_per_mm, z_steps_per_mm',
    values: (box) => ({
      'machine.axis.steps_per_mm': box.z_steps_per_mm,
      'machine.table.x_steps_per_mm': box.x_steps_per_mm,
      'machine.table.y_steps_per_mm': box.y_steps_per_mm,
    }),
  },
  {
    name: 'backlash',
    without: 'no backlash in Z',
    remedy: 'take up the backlash between motor and carriage of Z',
    values: () => zero('machine.axis', 'backlash_um'),
  },
  {
    name: 'noise',
    without: 'no noise, ripple, pickup or impulses in the reading',
    remedy: 'shorten, twist and screen the sensing leads, away from torch lead and motors',
    values: () => ({
      ...zero('world.noise', 'white_V_rms_per_tick', 'coloured_V_rms', 'ripple_V_peak', 'inverter_V_peak'),
      ...zero('world.noise', 'pickup_V_peak', 'impulse_rate_per_s'),
    }),
  },
  {
    name: 'jumps and double arcs',
    without: 'an arc without jumps and double arcs',
    remedy: 'sound consumables, dry air at the right pressure, no more current than the nozzle is made for',
    values: () => zero('world.arc', 'jump_V', 'double_arc_V'),
  },
  {
    name: 'wear',
    without: 'an electrode that does not wear',
    remedy: 'change the electrode sooner',
    values: () => zero('world.arc', 'wear_V_per_start', 'wear_V_per_min'),
  },
  {
    name: 'swinging arm',
    without: 'a stiff torch arm',
    remedy: 'stiffen the arm that carries the torch',
    values: () => zero('machine.head', 'arm_Hz'),
  },
  {
    name: 'uneven sheet',
    without: 'a sheet without waves, bow, bumps and shaking',
    remedy: 'clamp the sheet, or cut slower where it is uneven',
    values: () => zero('world.sheet', 'wave_mm', 'bow_mm', 'bump_mm', 'vibration_mm'),
  },
];

/** The same worlds without a cause: every other number of each case stays what it was. */
export function withoutCause(ranges: Ranges, { values }: Cause, box: Setup['box']): Ranges {
  const left = values(box);
  const numbers = ranges.numbers.map((range) => {
    const value = left[range.path];
    return value === undefined ? range : { ...range, low: value, high: value };
  });
  return { ...ranges, numbers };
}
