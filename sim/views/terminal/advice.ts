import { contactRule, cornerRule, crossingRule } from './advice-dives.js';
import { faultRule, outcomeRule, relayRule, requirementRule } from './advice-events.js';
import { biasRule, chatterRule, followingRule, lostStepsRule, speedRule } from './advice-following.js';
import type { Advice } from './advice-parts.js';
import type { RunSummary } from './run-summary.js';

export type { Advice } from './advice-parts.js';

/** In the order in which someone would want to hear of them. */
const RULES: readonly ((run: RunSummary) => readonly Advice[])[] = [
  outcomeRule,
  faultRule,
  contactRule,
  requirementRule,
  cornerRule,
  crossingRule,
  followingRule,
  biasRule,
  speedRule,
  chatterRule,
  lostStepsRule,
  relayRule,
];

/** One piece of advice for each thing that went wrong; none when nothing did. */
export function adviceFor(run: RunSummary): Advice[] {
  return RULES.flatMap((rule) => rule(run));
}
