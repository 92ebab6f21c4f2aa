import type { TrialResult } from '../../sim/campaign/index.js';
import type { Trial } from './lines-trial.js';

/** The next of 1, 2, 5, 10, 20, 50 … that is not below it: a page does not change with a millisecond. */
export function bound_ms(ms: number): number {
  for (let decade = 1; ; decade *= 10) {
    const found = [1, 2, 5].map((digit) => digit * decade).find((step) => step >= ms);
    if (found !== undefined) return found;
  }
}
/** A bound in words. */
export function within(ms: number): string {
  const bound = bound_ms(Math.max(1, ms));
  return bound < 1000 ? `within ${bound} ms` : `within ${bound / 1000} s`;
}
const tenths = (mm: number) => `±${Math.ceil(mm * 10) / 10} mm`;

/** What came of a cut with a wire or contact failed, in words. */
export function trialText(trial: Trial): string {
  const { faults, refusal, starts, contacts, live_ms, latched_ms, finished, permit, error_mm } = trial;
  const words: string[] = [];
  if (faults.length > 0) words.push(`\`${faults[0]}\``);
  else if (starts === 0 && refusal !== 'none') words.push(`refused: \`${refusal}\``);
  else if (finished) words.push('not noticed');
  if (contacts > 0) words.push('THE TORCH MEETS THE SHEET');
  if (latched_ms !== undefined) words.push(`latched stop set ${within(latched_ms)}`);
  if (live_ms === Infinity) words.push('THE TORCH STAYS LIVE');
  else if (starts === 0 && live_ms === 0) words.push(permit ? 'nothing is fired, the table moves' : 'nothing is fired');
  else if (finished) words.push(`the cut goes to its end, ${tenths(error_mm!)}`);
  else words.push(`torch dead ${within(live_ms)}`);
  return words.join(', ');
}

/** What came of a cut with a part of the divider failed, in words. */
export function resultText(result: TrialResult): string {
  const { verdict, fault, after_ms, permitted, moment, standoff_error_p999_mm } = result;
  switch (verdict) {
    case 'noticed':
    case 'late': {
      const let_go = moment === 'from power-up' && permitted ? ', the table was let go' : '';
      const late = verdict === 'late' ? ', TOO LATE' : '';
      return `\`${fault}\` ${within(after_ms!)}${let_go}${late}`;
    }
    case 'harmless':
      return `not noticed, the cut keeps ${tenths(standoff_error_p999_mm!)}`;
    case 'rougher':
      return `not noticed, the cut is rougher: ${tenths(standoff_error_p999_mm!)}`;
    case 'unnoticed':
      return 'NOT NOTICED';
  }
}
