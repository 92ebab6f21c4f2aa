import { StandoffError } from '../../base/index.js';

/** A sum over other quantities of the same cut, by path with their section, each with a factor, and a constant. */
export interface Sum {
  readonly of: Readonly<Record<string, number>>;
  readonly plus?: number;
}

/**
 * What a campaign draws, around the value of the setup that is tried: `by` widens it by an absolute amount, `times` by a
 * share of the value, `to` says the whole range. All of them are assumptions about what a workshop can bring.
 */
export interface Spread {
  readonly by?: number;
  readonly times?: number;
  readonly to?: readonly [number, number];
  /** Decimals kept, so that a case can be written down and read again. */
  readonly decimals: number;
  /** What is drawn is a share of this sum, and `to` its range: a slope that is told within 30 % of the true one. */
  readonly share_of?: Sum;
  /** The value is brought down to this, or up to it, after it was drawn. */
  readonly at_most?: Sum;
  readonly at_least?: Sum;
  /** What is drawn below this counts as 0: a cause that is missing in some cuts, and never there by a trace. */
  readonly none_below?: number;
  /** One end of the range or the other, nothing between: a supply has one phase or three. */
  readonly either?: boolean;
}

/** What a campaign draws of a quantity, or the sentence why it takes it as the setup has it. */
export type Drawn = Spread | string;

/**
 * One adjustable quantity of the simulated machine or world. The tables of rows are the single source: the setup file's
 * schema, the defaults, the types, the campaign's ranges and the tables of the notes come from them.
 */
export interface Row {
  /** Place in the nested section, such as `arc.feed_effect_V`. */
  readonly path: string;
  readonly kind: 'number' | 'boolean' | 'choice';
  /** Unit as printed; an empty text for a pure number, a flag or a choice. */
  readonly unit: string;
  /** Smallest and largest value allowed (0 and 1 for a flag; the extreme choices for a choice). */
  readonly min: number;
  readonly max: number;
  readonly default: number | boolean;
  readonly meaning: string;
  /** True where no published number was found: the value is ours, adjustable, and called so wherever it shows. */
  readonly assumption?: boolean;
  /** True where only whole numbers make sense. */
  readonly integer?: boolean;
  readonly choices?: readonly number[];
  readonly drawn?: Drawn;
}

type RowOptions = Pick<Row, 'assumption' | 'integer' | 'drawn'>;

/** A row for a number; `options` marks assumptions and whole numbers, and says what a campaign draws. */
export function numberRow(
  path: string,
  unit: string,
  min: number,
  max: number,
  value: number,
  meaning: string,
  options: RowOptions = {},
): Row {
  return { path, kind: 'number', unit, min, max, default: value, meaning, ...options };
}

/** A row for a yes or no. */
export function flagRow(path: string, value: boolean, meaning: string, options: RowOptions = {}): Row {
  return { path, kind: 'boolean', unit: '', min: 0, max: 1, default: value, meaning, ...options };
}

/** A row for one of a few numbers. */
export function choiceRow(
  path: string,
  choices: readonly number[],
  value: number,
  meaning: string,
  options: RowOptions = {},
): Row {
  const min = Math.min(...choices);
  const max = Math.max(...choices);
  return { path, kind: 'choice', unit: '', min, max, default: value, meaning, choices, ...options };
}

/**
 * Holds a configuration that a program gives against its rows: every quantity is there with its type, and nothing else. Ranges
 * are the business of whoever reads user input.
 * @param name of the configuration, for messages: `machine`
 * @throws StandoffError `path-unknown` for a name that no row has, `value-type` for a value that is missing or no number
 */
export function refuseOtherNames(name: string, config: object, rows: readonly Row[]): void {
  const nested = config as Readonly<Record<string, Readonly<Record<string, unknown>> | undefined>>;
  const parts = new Map<string, Set<string>>();
  for (const row of rows) {
    const [part, key] = row.path.split('.') as [string, string];
    if (!parts.has(part)) parts.set(part, new Set());
    parts.get(part)!.add(key);
    const value = nested[part]?.[key];
    if (typeof value === typeof row.default && !Number.isNaN(value)) continue;
    const wanted = typeof row.default === 'boolean' ? 'true or false' : `a number in ${row.unit || '1'}`;
    throw new StandoffError('value-type', `${name}.${row.path} is ${String(value)}`, `give ${wanted}`);
  }
  for (const [part, values] of Object.entries(nested)) {
    if (Array.isArray(values)) continue;
    const known = parts.get(part);
    const other = known === undefined ? '' : Object.keys(values ?? {}).find((key) => !known.has(key));
    if (other === undefined) continue;
    const path = [name, part, other].filter((word) => word !== '').join('.');
    throw new StandoffError('path-unknown', `no quantity is called ${path}`, 'see the rows of the section');
  }
}

/** Rows of which a campaign draws nothing, each for the same reason, but for those that say what it draws. */
export const notDrawn = (reason: string, rows: readonly Row[]): Row[] => rows.map((row) => ({ drawn: reason, ...row }));

type Nested = Record<string, Record<string, number | boolean>>;

/** The nested object of all defaults of a table. */
export function defaultsOf(rows: readonly Row[]): Nested {
  const result: Nested = {};
  for (const row of rows) {
    const [part, name] = row.path.split('.') as [string, string];
    result[part] ??= {};
    result[part][name] = row.default;
  }
  return result;
}

/** Two levels by hand: a campaign copies two configurations a cut, and a structured clone takes ten times as long. */
function copyOf(config: Nested): Nested {
  const copy: Nested = {};
  for (const [part, values] of Object.entries(config)) {
    copy[part] = Array.isArray(values) ? structuredClone(values) : { ...values };
  }
  return copy;
}

/**
 * A copy of a configuration with some paths changed: `withValues(DEFAULT_WORLD, { 'noise.white_V_rms_per_tick': 0 })`.
 * Ranges are the business of whoever reads user input; only the path and the type are checked here.
 * @throws StandoffError `path-unknown` or `value-type`
 */
export function withValues<T extends object>(config: T, values: Readonly<Record<string, number | boolean>>): T {
  const copy = copyOf(config as unknown as Nested);
  for (const [path, value] of Object.entries(values)) {
    const [part, name] = path.split('.') as [string, string];
    if (!Object.hasOwn(copy, part) || !Object.hasOwn(copy[part], name)) {
      throw new StandoffError('path-unknown', `no quantity is called ${path}`, 'see the rows of the section');
    }
    const before = copy[part][name];
    if (typeof before !== typeof value) {
      throw new StandoffError(
        'value-type',
        `${path} is ${String(value)}, a ${typeof value}`,
        `give a ${typeof before}`,
      );
    }
    copy[part][name] = value;
  }
  return copy as unknown as T;
}
