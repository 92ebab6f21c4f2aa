import { known } from './known.js';

/** Period over which a duty cycle is rated, s. */
export const DUTY_PERIOD_S = 600;
/** Where the period comes from. */
export const DUTY_PERIOD_SOURCE = known('seen', 'IEC 60974-1, ten-minute period');
/** Where the rule of currents and duty cycles comes from. */
export const DUTY_RULE_SOURCE = known('memory', 'thermal rule, I²·X constant');

/**
 * Duty cycle at another current than the rated one, 0…100 %: I²·X stays constant.
 * @param current_A and rated_A above 0
 */
export function dutyAt_percent(current_A: number, rated_A: number, rated_percent: number): number {
  return Math.min(100, rated_percent * (rated_A / current_A) ** 2);
}
