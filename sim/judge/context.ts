import { STROKE_UM } from '../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS, type ParameterName, type ParameterValues } from '../../firmware/wire/parameter-rows.js';
import { StandoffError } from '../base/index.js';

/**
 * The quality goals of a cut. They are no requirements: a missed goal is reported with its margin and leaves `kept` of
 * the run alone. Defaults: the figures set for the example cut.
 */
export interface QualityGoals {
  /** Root mean square of the standoff error while following, mm. */
  readonly following_rms_mm: number;
  /** Standoff error that is not exceeded for 99.9 % of the following time, mm. */
  readonly following_p999_mm: number;
  /** Deepest dive below cut height at a corner, mm. */
  readonly corner_dive_mm: number;
  /** Deepest dive below cut height at a kerf crossing, mm. */
  readonly kerf_crossing_dive_mm: number;
}

const DEFAULT_GOALS: QualityGoals = {
  following_rms_mm: 0.06,
  following_p999_mm: 0.2,
  corner_dive_mm: 0.3,
  kerf_crossing_dive_mm: 0.2,
};

/** What a run is judged against: the parameters in the box, the machine, the quality goals. */
export interface RequirementContext {
  /** Every parameter of the table by its name, in the unit of its row. */
  readonly parameters: Readonly<Record<ParameterName, number>>;
  /**
   * Longest time from an arc that is truly out to the withdrawal of the motion permit, ms. A lost arc may look like a
   * kerf crossing for crossing_ms, and is then debounced for arc_off_ms.
   */
  readonly permit_off_ms: number;
  /** Time from trigger off until the firing contact opens, ms. */
  readonly relay_release_ms: number;
  /** Longest time of a stroke of the proof of an arc, ms. */
  readonly stroke_ms: number;
  readonly goals: QualityGoals;
}

/** A stroke ends at rest, and the last sample is worked in: half a mains period and a few ticks, ms. */
const STROKE_END_MS = 25;

/** Up and down at the limits of the axis, ms. */
function strokeTime({
  z_velocity_mm_s: speed,
  z_acceleration_mm_s2: acceleration,
}: Record<ParameterName, number>): number {
  const stroke_mm = STROKE_UM / 1000;
  const reaches = (speed * speed) / acceleration < stroke_mm;
  const way_s = reaches ? stroke_mm / speed + speed / acceleration : 2 * Math.sqrt(stroke_mm / acceleration);
  return Math.ceil(2000 * way_s) + STROKE_END_MS;
}

/** Delay of sensing: the moving mean over half a mains period at 45 Hz, 12 ms, and a few ticks of spike rejection. */
export const SENSING_MS = 20;

/** The relay of the example's firing circuit; an assumption, set by the machine section. */
const RELAY_RELEASE_MS = 8;

/**
 * Builds a context.
 * @param parameters by name, in the unit of their row; those not named keep their default
 * @throws StandoffError `parameter-unknown` for a name that the table does not have
 */
export function requirementContext(
  parameters: ParameterValues = {},
  { relay_release_ms = RELAY_RELEASE_MS }: { readonly relay_release_ms?: number } = {},
  goals: Partial<QualityGoals> = {},
): RequirementContext {
  const defaults = Object.fromEntries(PARAMETER_ROWS.map((row) => [row.name, row.default]));
  const unknown = Object.keys(parameters).find((name) => !Object.hasOwn(defaults, name));
  if (unknown !== undefined) {
    throw new StandoffError('parameter-unknown', `no parameter is called ${unknown}`, 'look at the parameter table');
  }
  const full = { ...defaults, ...parameters } as Readonly<Record<ParameterName, number>>;
  return {
    parameters: full,
    relay_release_ms,
    stroke_ms: strokeTime(full),
    permit_off_ms: SENSING_MS + full.arc_off_ms + full.crossing_ms,
    goals: { ...DEFAULT_GOALS, ...goals },
  };
}
