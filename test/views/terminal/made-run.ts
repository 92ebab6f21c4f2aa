import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import type { ContourFigures, FaultFigures, RequirementResult, RunFigures } from '../../../sim/judge/index.js';
import { Ending, verdictOf } from '../../../sim/judge/verdict.js';
import type { RunSummary } from '../../../sim/views/terminal/index.js';

/** A run in which everything went well: the base from which each test departs. */
const FIGURES: RunFigures = {
  standoff_error_rms_mm: 0.031,
  standoff_error_p95_mm: 0.06,
  standoff_error_p999_mm: 0.14,
  standoff_error_worst_mm: 0.19,
  standoff_error_mean_mm: 0.004,
  cut_error_rms_mm: 0.05,
  following_s: 40,
  out_of_tolerance_s: 0,
  corner_dive_mm: 0.2,
  corners: 9,
  kerf_crossing_dive_mm: 0.1,
  crossings: 2,
  least_standoff_mm: 1.3,
  contacts: 0,
  arc_on_s: 45,
  starts: 2,
  cut_length_mm: 2000,
  reversals_per_s: 4,
  acceleration_limited_share: 0.01,
  velocity_limited_share: 0.001,
  lost_steps: 0,
  found_target_V: 118,
  found_deviation_mm: 0.04,
  found_feed_effect_V: 8,
  relay_release_ms: 8,
  duty_cycle: 0.07,
  simulated_s: 65,
  holds: [{ cause: 'corner', count: 9, time_s: 1, length_mm: 30 }],
  faults: [],
  contours: [contour(0, 12), contour(1, 30)],
};

export function contour(index: number, line: number, over: Partial<ContourFigures> = {}): ContourFigures {
  return {
    contour: index,
    line,
    length_mm: 512.4,
    starts: 1,
    arc_on_s: 12,
    standoff_error_rms_mm: 0.031,
    standoff_error_mean_mm: 0.004,
    standoff_error_p95_mm: 0.06,
    standoff_error_worst_mm: 0.19,
    least_standoff_mm: 1.31,
    holds: [{ cause: 'corner', count: 4, time_s: 0.4, length_mm: 12 }],
    faults: [],
    ...over,
  };
}

export function fault(code: number, name: string, over: Partial<FaultFigures> = {}): FaultFigures {
  return { tick: 12_500, code, name, measured_V: 0.4, contour: 1, line: 31, ...over };
}

export function requirement(
  name: string,
  margin: number | null,
  over: Partial<RequirementResult> = {},
): RequirementResult {
  return {
    name,
    number: 0,
    kind: 'goal',
    statement: `the statement of ${name}`,
    kept: margin === null || margin >= 0,
    margin,
    unit: 'mm',
    worst_tick: null,
    checked: margin === null ? 0 : 5,
    checked_unit: 'times',
    ...over,
  };
}

const REQUIREMENTS: readonly RequirementResult[] = [
  requirement('trigger-permission', 0, { kind: 'requirement', number: 1, unit: 'ticks' }),
  requirement('trigger-withdrawal', null, { kind: 'requirement', number: 2, unit: 'ticks' }),
  requirement('following-rms', 0.029),
  requirement('corner-dive', 0.1),
];

export interface RunChange {
  readonly figures?: Partial<RunFigures>;
  readonly parameters?: Readonly<Record<string, number>>;
  readonly requirements?: readonly RequirementResult[];
  readonly run?: Partial<RunSummary>;
}

/** The good run with some of it changed. */
export function made(change: RunChange = {}): RunSummary {
  const parameters: Record<string, number> = {};
  for (const row of PARAMETER_ROWS) parameters[row.name] = row.default;
  const figures = { ...FIGURES, ...change.figures };
  const requirements = change.requirements ?? REQUIREMENTS;
  const outcome = change.run?.outcome ?? ({ ended: 'finished', reason: '', line: 90 } as const);
  const stop = new Ending().stop({ ...outcome, ticks: 1000 * figures.simulated_s }, figures.faults);
  return {
    program: 'hinge-plates.nc',
    seed: 7,
    contours: 2,
    conditions: ['sheet ±2.5 mm over 250 mm, tilt 2 %', 'noise 1 V rms a tick'],
    outcome,
    verdict: verdictOf(stop, requirements, figures),
    advice: [],
    ...change.run,
    parameters: { ...parameters, ...change.parameters },
    figures,
    requirements,
  };
}
