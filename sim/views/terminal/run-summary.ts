import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import type { RequirementResult, RunFigures } from '../../judge/index.js';
import { fixed } from '../text/index.js';

/** How a run ended. */
export interface RunOutcome {
  /**
   * `finished`: the program came to its end; `stopped`: it did not; `limit`: it took too long and was ended;
   * `interrupted`: the user ended it.
   */
  readonly ended: 'finished' | 'stopped' | 'limit' | 'interrupted';
  /** In words; empty when finished. */
  readonly reason: string;
  /** Line of the program that was reached. */
  readonly line: number;
}

/** Everything the closing report of a run says. */
export interface RunSummary {
  readonly program: string;
  readonly seed: number;
  /** Contours in the program. */
  readonly contours: number;
  /**
   * What was assumed, in words with ranges and units, such as `sheet ±2.5 mm over 250 mm, tilt 2 %` and
   * `noise 1 V rms a tick`: a result is worth nothing without them.
   */
  readonly conditions: readonly string[];
  readonly outcome: RunOutcome;
  /** Every parameter of the box by its name. */
  readonly parameters: Readonly<Record<string, number>>;
  readonly figures: RunFigures;
  readonly requirements: readonly RequirementResult[];
}

/** One thing that went wrong and what governs it. */
export interface Advice {
  /** What was found, with value and unit. */
  readonly what: string;
  /** Parameter of the box that governs it; empty when it is not a matter of a parameter. */
  readonly parameter: string;
  /** What to do, as a command. */
  readonly do: string;
}

/** `gain_p_per_s (now 5 1/s)`; the unit of a pure number is left out. */
export function nowText(run: RunSummary, name: string): string {
  const row = PARAMETER_ROWS.find((candidate) => candidate.name === name);
  const unit = row === undefined || row.unit === '1' ? '' : ` ${row.unit}`;
  return `now ${number(run.parameters[name])}${unit}`;
}

/** Default of a parameter, from its row. */
export function defaultOf(name: string): number {
  const row = PARAMETER_ROWS.find((candidate) => candidate.name === name);
  if (row === undefined) throw new RangeError(`no parameter is called ${name}`);
  return row.default;
}

/** A parameter that was turned away from its default in the direction that explains the trouble. */
export function raiseTo(run: RunSummary, name: string, target = defaultOf(name)): string {
  return `raise it towards ${number(target)} (${nowText(run, name)})`;
}

export function lowerTo(run: RunSummary, name: string, target = defaultOf(name)): string {
  return `lower it towards ${number(target)} (${nowText(run, name)})`;
}

/** At most four significant digits, without trailing zeros. */
export function number(value: number): string {
  return String(Number(value.toPrecision(4)));
}

/** True when a wish of this name was missed. */
export function missed(run: RunSummary, name: string): boolean {
  return run.requirements.some((requirement) => requirement.name === name && !requirement.kept);
}

/** `0.42 mm, 0.12 more than wished`, from a figure and the margin of its wish. */
export function missText(run: RunSummary, name: string, value: number | null): string {
  const margin = run.requirements.find((requirement) => requirement.name === name)?.margin ?? 0;
  return `${fixed(value ?? Number.NaN, 2)} mm, ${fixed(-margin, 2)} more than wished`;
}
