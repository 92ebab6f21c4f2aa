import type { RequirementResult, RunFigures, RunVerdict } from '../../judge/index.js';

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
  readonly verdict: RunVerdict;
  /** Every parameter of the box by its name. */
  readonly parameters: Readonly<Record<string, number>>;
  readonly figures: RunFigures;
  readonly requirements: readonly RequirementResult[];
  /** What to change, in words: the root cause first. */
  readonly advice: readonly Advice[];
}

/** One cause: sentences, each whole; an empty one has nothing to say. */
export interface Advice {
  /** What is wrong, with its numbers. */
  readonly what: string;
  /** What one would see of it at a real box. */
  readonly seen: string;
  readonly do: string;
  /** What came of it when it was tried. */
  readonly result: string;
}
