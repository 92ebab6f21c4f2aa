import { PARAMETER_ROWS, type ParameterName } from '../../../../firmware/wire/parameter-rows.js';
import type { RunFigures, RunVerdict } from '../../../judge/index.js';
import type { Plan } from '../../../world/motion/index.js';
import type { Scenario, Setup } from '../../setup/index.js';
import type { Change } from '../changes.js';

/** A run that did not go well, with all that the simulation knows of it. */
export interface Case {
  readonly scenario: Scenario;
  readonly setup: Setup;
  readonly plan: Plan;
  readonly figures: RunFigures;
  readonly verdict: RunVerdict;
}

/** One thing to do. */
export interface Remedy {
  /** What to do at the table; a sentence. */
  readonly do: string;
  readonly changes: readonly Change[];
}

/** Something that may be the cause. */
export interface Suspicion {
  /** Stable name. */
  readonly cause: string;
  /** What is wrong, with its numbers; a sentence. */
  readonly what: string;
  /** What one would see of it at a real box, or how to find it there; a sentence. */
  readonly seen: string;
  /** The first takes the cause itself away. */
  readonly remedies: readonly Remedy[];
}

/** Room of the arc window above the highest arc: for wear, jumps and a torch that is high, V; as a campaign draws it. */
export const ABOVE_V = 27;

const ROWS = new Map(PARAMETER_ROWS.map((row) => [row.name, row]));

export const defaultOf = (name: ParameterName): number => ROWS.get(name)!.default;

/** At most four significant digits, without trailing zeros. */
export const number = (value: number): string => String(Number(value.toPrecision(4)));

/** `4 V/mm`; a pure number has no unit. */
export function quantity(value: number, unit: string): string {
  return unit === '1' || unit === '' ? number(value) : `${number(value)} ${unit}`;
}

/** The same for what was worked out, to two digits: `0.18 mm/mm`. */
export const about = (value: number, unit: string): string => quantity(Number(value.toPrecision(2)), unit);

/** A parameter of the box set to a value, kept in its range. */
export function boxChange({ box }: Setup, name: ParameterName, to: number): Change {
  const { min, max, integer } = ROWS.get(name)!;
  const rounded = integer ? Math.round(to) : Number(to.toPrecision(4));
  return { path: `box.${name}`, from: box[name], to: Math.min(max, Math.max(min, rounded)) };
}

/** `Set strike_ms to 1500 ms, now 100 ms.` */
export const setText = (changes: readonly Change[]): string => {
  const parts = changes.map(({ path, from, to }) => {
    const name = path.replace(/^box\./, '');
    const unit = (ROWS.get(name as ParameterName)?.unit ?? '').replace('1/mm', 'steps/mm');
    return `${name} to ${quantity(Number(to), unit)}, now ${quantity(Number(from), unit)}`;
  });
  const last = parts.pop();
  return `Set ${[...parts, ''].join('; ')}${parts.length > 0 ? 'and ' : ''}${last}.`;
};

/** Parameters of the box set to values: the sentence names each. */
export function boxRemedy(setup: Setup, values: Readonly<Partial<Record<ParameterName, number>>>, first = ''): Remedy {
  const changes = Object.entries(values)
    .map(([name, to]) => boxChange(setup, name as ParameterName, to))
    .filter(({ from, to }) => from !== to);
  return { do: `${first}${first === '' ? '' : ' '}${setText(changes)}`, changes };
}

/** Something of machine or world as it ought to be. */
export function repair(setup: Setup, text: string, values: Readonly<Record<string, number | boolean>>): Remedy {
  const changes = Object.entries(values).map(([path, to]) => ({ path, from: quantityOf(setup, path), to }));
  return { do: text, changes: changes.filter(({ from, to }) => from !== to) };
}

/** A value of a setup by its path. */
function quantityOf(setup: Setup, path: string): number | boolean {
  const inside = path.split('.').reduce<unknown>((part, word) => (part as Record<string, unknown>)[word], setup);
  return inside as number | boolean;
}

/** Something of machine or world that is above what disturbs nobody. */
export function above(
  value: number,
  limit: number,
  cause: string,
  [what, seen]: readonly [string, string],
  remedies: () => readonly Remedy[],
): Suspicion[] {
  return value > limit ? [{ cause, what, seen, remedies: remedies() }] : [];
}
