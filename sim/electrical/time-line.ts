import { type ArcTime, arcWithin_s, type DutyStudy } from './duty.js';
import { DUTY_PERIOD_S } from './duty-rule.js';

/** A time line in equal steps. */
export interface TimeLine {
  readonly step_s: number;
  /** Share of each step with an arc, 0…1. */
  readonly arc: readonly number[];
  /** Share of each step in a pause for the duty cycle, 0…1. */
  readonly pause: readonly number[];
  /** Arc time of the ten minutes up to each step's end, as a share of what is allowed. */
  readonly used: readonly number[];
}

/** Cuts a study with its pauses into steps. @param length_s of the whole program, pauses included; above 0 */
export function timeLine({ paced, pauses, allowed_s }: DutyStudy, length_s: number, steps: number): TimeLine {
  const step_s = length_s / steps;
  const waits = pauses.map(({ at_s, pause_s, line }): ArcTime => ({ from_s: at_s, to_s: at_s + pause_s, line }));
  const each = (value: (from_s: number, to_s: number) => number) =>
    Array.from({ length: steps }, (_, n) => value(n * step_s, (n + 1) * step_s));
  return {
    step_s,
    arc: each((from_s, to_s) => arcWithin_s(paced, from_s, to_s) / step_s),
    pause: each((from_s, to_s) => arcWithin_s(waits, from_s, to_s) / step_s),
    used: each((_, to_s) => arcWithin_s(paced, to_s - DUTY_PERIOD_S, to_s) / allowed_s),
  };
}
