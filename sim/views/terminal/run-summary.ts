import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import type { RequirementResult, RunFigures } from '../../judge/index.js';
import { fixed } from '../text/index.js';

/** How a run ended. */
export interface RunOutcome {
  /**
   * `finished`: the program ran to its end; `stopped`: it did not; `limit`: it took too long and was ended;
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
  /** What happened, with value and unit; a sentence. */
  readonly what: string;
  /** Parameter of the box that governs it; empty when no parameter does. */
  readonly parameter: string;
  /** What to do; a sentence, which names the parameter if there is one. */
  readonly do: string;
}

/** What to do about something. */
export type Cure = Omit<Advice, 'what'>;

/** @param text a sentence; where it names no parameter, none governs the matter. */
export const cure = (text: string, parameter = ''): Cure => ({ parameter, do: text });

const rowOf = (name: string) => PARAMETER_ROWS.find((row) => row.name === name);

/** Default of a parameter, from its row. */
export function defaultOf(name: string): number {
  const row = rowOf(name);
  if (row === undefined) throw new RangeError(`no parameter is called ${name}`);
  return row.default;
}

export const turnOn = (name: string): Cure => cure(`Set ${name} to ${number(defaultOf(name))}; it is off.`, name);

/** For a parameter that was turned away from its default in the direction that explains the trouble. */
export const raise = (name: string, why: string): Cure =>
  cure(`Raise ${name} towards ${number(defaultOf(name))}: ${why}.`, name);

export const lower = (name: string, why: string): Cure =>
  cure(`Lower ${name} towards ${number(defaultOf(name))}: ${why}.`, name);

/** At most four significant digits, without trailing zeros. */
export function number(value: number): string {
  return String(Number(value.toPrecision(4)));
}

/** An advice in full: what happened, what to do, and the parameters that it names with their values in this run. */
export function adviceText({ what, parameter, do: act }: Advice, { parameters }: RunSummary): string {
  const named = act.match(/\w+/g)?.filter((word) => rowOf(word) !== undefined) ?? [];
  const values = [...new Set(parameter === '' ? named : [parameter, ...named])].map((name) => {
    const unit = rowOf(name)?.unit ?? '1';
    return `${name} = ${number(parameters[name])}${unit === '1' ? '' : ` ${unit}`}`;
  });
  return `${what} ${act}${values.length === 0 ? '' : ` Now ${values.join(', ')}.`}`;
}

/** True when a quality goal of this name was missed. */
export function missed(run: RunSummary, name: string): boolean {
  return run.requirements.some((requirement) => requirement.name === name && !requirement.kept);
}

/** `0.42 mm, 0.12 mm more than the goal`, from a figure and the margin of its goal. */
export function missText(run: RunSummary, name: string, value_mm: number | null): string {
  const margin_mm = run.requirements.find((requirement) => requirement.name === name)?.margin ?? 0;
  return `${fixed(value_mm ?? Number.NaN, 2)} mm, ${fixed(-margin_mm, 2)} mm more than the goal`;
}
