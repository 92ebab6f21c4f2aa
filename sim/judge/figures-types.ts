/** Holds of one cause. */
export interface HoldFigures {
  /** Name of the cause, as in the hold rows. */
  readonly cause: string;
  readonly count: number;
  readonly time_s: number;
  /** Path travelled during them, mm. */
  readonly length_mm: number;
}

/** One fault as it arose. */
export interface FaultFigures {
  readonly tick: number;
  /** FAULT_* */
  readonly code: number;
  readonly name: string;
  /** Arc voltage as the box saw it in that tick. */
  readonly measured_V: number;
  readonly contour: number;
  /** Line of the program. */
  readonly line: number;
}

/**
 * Standoff error is standoff − cut_height, and it is judged in mode follow only, without the ticks in which the
 * arc meets metal that is gone or the torch is beyond the sheet: there is no sheet to keep a distance from.
 * A figure that the run gave no occasion for is null.
 */
export interface ErrorFigures {
  readonly standoff_error_rms_mm: number | null;
  /** 95 % of the ticks are within this, to 0.001 mm, rounded up. */
  readonly standoff_error_p95_mm: number | null;
  readonly standoff_error_worst_mm: number | null;
}

/** One contour: from a torch request to the next. */
export interface ContourFigures extends ErrorFigures {
  /** Index, from 0. */
  readonly contour: number;
  /** First line of the program that belongs to it. */
  readonly line: number;
  /** Path cut, with the arc burning and in settle, follow or hold. */
  readonly length_mm: number;
  /** Times that an arc came to burn. */
  readonly starts: number;
  readonly arc_on_s: number;
  readonly standoff_error_mean_mm: number | null;
  /** Least standoff while the arc burned, from settle to hold, over the sheet. */
  readonly least_standoff_mm: number | null;
  readonly holds: readonly HoldFigures[];
  readonly faults: readonly FaultFigures[];
}

/** The figures of a run. */
export interface RunFigures extends ErrorFigures {
  /** Mean, signed: above 0 the torch rides too high. */
  readonly standoff_error_mean_mm: number | null;
  /** 99.9 % of the ticks are within this, to 0.001 mm, rounded up. */
  readonly standoff_error_p999_mm: number | null;
  /** Rms of the error in settle, follow and hold, crossings included; beyond the sheet left out. */
  readonly cut_error_rms_mm: number | null;
  /** Time in follow over the sheet, the time that the errors above are taken over. */
  readonly following_s: number;
  /** Time in follow with an error beyond the tolerance for 99.9 % of the time. */
  readonly out_of_tolerance_s: number;
  /**
   * Deepest dive below cut height, 0 or more, within CORNER_WINDOW_MM of path from a corner, in follow or
   * hold; crossings and what follows them are left out.
   */
  readonly corner_dive_mm: number | null;
  /** Times that the torch came near a corner. */
  readonly corners: number;
  /**
   * Deepest dive below cut height, 0 or more, in follow or hold, from the start of a crossing until
   * CROSSING_AFTER_MS or CROSSING_AFTER_MM after its end, whichever comes first.
   */
  readonly kerf_crossing_dive_mm: number | null;
  readonly crossings: number;
  readonly least_standoff_mm: number | null;
  /** Times that the torch met the sheet outside the touch-off. */
  readonly contacts: number;
  readonly arc_on_s: number;
  readonly starts: number;
  readonly cut_length_mm: number;
  /** Changes of the direction of Z in follow, a second of follow. */
  readonly reversals_per_s: number | null;
  /** Share (0…1) of the ticks in follow at the acceleration limit. */
  readonly acceleration_limited_share: number | null;
  readonly velocity_limited_share: number | null;
  readonly lost_steps: number;
  /** Longest time from trigger off to an open firing contact; of the firing circuit, not of the box. */
  readonly relay_release_ms: number | null;
  /** Arc time in the busiest ten minutes (in steps of a second) as a share of ten minutes, 0…1. */
  readonly duty_cycle: number;
  readonly simulated_s: number;
  readonly holds: readonly HoldFigures[];
  readonly faults: readonly FaultFigures[];
  readonly contours: readonly ContourFigures[];
}
