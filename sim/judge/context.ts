import { PARAMETER_ROWS, type ParameterName, type ParameterValues } from '../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../base/index.js';

/**
 * What the quality figures are held against. They are wishes for a cut, not requirements: a miss is told with its
 * margin and leaves `kept` of the run alone. Defaults: the figures set for the example cut.
 */
export interface QualityTolerances {
  /** Root mean square of the standoff error while following, mm. */
  readonly following_rms_mm: number;
  /** Standoff error that 99.9 % of the following time stays within, mm. */
  readonly following_p999_mm: number;
  /** Deepest dive below cut height at a corner, mm. */
  readonly corner_dive_mm: number;
  /** Deepest dive below cut height at a kerf crossing, mm. */
  readonly kerf_crossing_dive_mm: number;
}

export const DEFAULT_TOLERANCES: QualityTolerances = {
  following_rms_mm: 0.06,
  following_p999_mm: 0.2,
  corner_dive_mm: 0.3,
  kerf_crossing_dive_mm: 0.2,
};

/** Numbers of the machine that a requirement needs beside the box's own parameters. */
export interface RequirementMachine {
  /** Time in which the firing contact opens after the trigger went off, ms. */
  readonly relay_release_ms: number;
}

/** What the requirements are judged against: the parameters in the box, the machine, the wishes. */
export interface RequirementContext extends RequirementMachine {
  /** Every parameter of the table by its name, in the unit of its row. */
  readonly parameters: Readonly<Record<ParameterName, number>>;
  /**
   * Longest time from an arc that has really gone out to the withdrawal of the motion permit, ms. A lost arc
   * may pass for a kerf crossing until the crossing's bound, and is then debounced.
   */
  readonly permit_off_ms: number;
  readonly tolerances: QualityTolerances;
}

/** The moving mean over half a mains period at 45 Hz, 12 ms, and a few ticks of spike rejection. */
const SENSING_MS = 20;

/** The relay of the example's firing circuit; an assumption, adjustable. */
const DEFAULT_MACHINE: RequirementMachine = { relay_release_ms: 8 };

/**
 * Builds a context. Parameters that are not named keep the default of their row.
 * @throws StandoffError `parameter-unknown` for a name that the table does not have
 */
export function requirementContext(
  parameters: ParameterValues = {},
  machine: Partial<RequirementMachine> = {},
  tolerances: Partial<QualityTolerances> = {},
): RequirementContext {
  const defaults = Object.fromEntries(PARAMETER_ROWS.map((row) => [row.name, row.default]));
  const unknown = Object.keys(parameters).find((name) => !Object.hasOwn(defaults, name));
  if (unknown !== undefined) {
    throw new StandoffError('parameter-unknown', `no parameter is called ${unknown}`, 'look at the parameter table');
  }
  const full = { ...defaults, ...parameters } as Readonly<Record<ParameterName, number>>;
  return {
    ...DEFAULT_MACHINE,
    ...machine,
    parameters: full,
    permit_off_ms: SENSING_MS + full.arc_off_ms + full.crossing_ms,
    tolerances: { ...DEFAULT_TOLERANCES, ...tolerances },
  };
}
