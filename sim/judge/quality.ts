import type { RequirementContext } from './context.js';
import type { RunFigures } from './figures-types.js';
import type { RequirementResult } from './requirement.js';

function quality(
  name: string,
  statement: string,
  unit: string,
  tolerance: number,
  value: number | null,
  checked: number,
  checked_unit: string,
): RequirementResult {
  const margin = value === null ? null : tolerance - value;
  return {
    name,
    number: 0,
    kind: 'quality',
    statement,
    kept: margin === null || margin >= 0,
    margin,
    unit,
    worst_tick: null,
    checked,
    checked_unit,
  };
}

/** The figures of a run against the wishes for it. */
export function qualityResults(figures: RunFigures, context: RequirementContext): RequirementResult[] {
  const wish = context.tolerances;
  const follow_ms = Math.round(figures.following_s * 1000);
  return [
    quality(
      'following-rms',
      `while following, the standoff error is at most ${wish.following_rms_mm} mm rms`,
      'mm',
      wish.following_rms_mm,
      figures.standoff_error_rms_mm,
      follow_ms,
      'ms',
    ),
    quality(
      'following-p999',
      `while following, the standoff error is within ${wish.following_p999_mm} mm for 99.9 % of the time`,
      'mm',
      wish.following_p999_mm,
      figures.standoff_error_p999_mm,
      follow_ms,
      'ms',
    ),
    quality(
      'corner-dive',
      `at corners the torch goes at most ${wish.corner_dive_mm} mm below cut height`,
      'mm',
      wish.corner_dive_mm,
      figures.corner_dive_mm,
      figures.corners,
      'times',
    ),
    quality(
      'kerf-crossing-dive',
      `at kerf crossings the torch goes at most ${wish.kerf_crossing_dive_mm} mm below cut height`,
      'mm',
      wish.kerf_crossing_dive_mm,
      figures.kerf_crossing_dive_mm,
      figures.crossings,
      'times',
    ),
    quality(
      'relay-release',
      `the firing contact opens within ${context.relay_release_ms} ms of the trigger, and one more for the tick`,
      'ms',
      context.relay_release_ms + 1,
      figures.relay_release_ms,
      figures.relay_release_ms === null ? 0 : 1,
      'times',
    ),
  ];
}
