import { Judge, requirementContext } from '../../sim/judge/index.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { run } from '../../sim/run/loop/index.js';
import type { Plan } from '../../sim/world/motion/index.js';
import type { Condition } from './conditions.js';

/** The figures that are told over many seeds. */
export const TOLD = [
  ['standoff_error_rms_mm', 'rms'],
  ['standoff_error_p999_mm', '99.9 %'],
  ['corner_dive_mm', 'corner'],
  ['kerf_crossing_dive_mm', 'kerf'],
  ['reversals_per_s', 'rev/s'],
  ['acceleration_limited_share', 'acc'],
] as const;
type Told = (typeof TOLD)[number][0];

export interface CampaignResult {
  readonly seeds: number;
  /** Sorted values over the seeds that gave one. */
  readonly values: Readonly<Record<Told, readonly number[]>>;
  readonly contacts: number;
  /** Runs that did not come to the end of the program. */
  readonly unfinished: number;
  /** Requirements that were broken, with the number of runs. */
  readonly broken: Readonly<Record<string, number>>;
  readonly simulated_s: number;
}

/** Cuts the plan once for each seed 1…seeds. */
export function campaign(module: ControlModule, plan: Plan, condition: Condition, seeds: number): CampaignResult {
  const values = Object.fromEntries(TOLD.map(([key]) => [key, [] as number[]])) as Record<Told, number[]>;
  const broken: Record<string, number> = {};
  let contacts = 0;
  let unfinished = 0;
  let ticks = 0;
  const { box, machine, world } = condition.setup;
  for (let seed = 1; seed <= seeds; seed++) {
    const judge = new Judge(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
    const outcome = run({ box, machine, world, plan, seed, controller: new WasmController(module) }, [judge]);
    const figures = judge.figures.figures();
    for (const [key] of TOLD) if (figures[key] !== null) values[key].push(figures[key]);
    for (const requirement of judge.results()) {
      if (requirement.kind === 'requirement' && !requirement.kept)
        broken[requirement.name] = (broken[requirement.name] ?? 0) + 1;
    }
    contacts += figures.contacts;
    if (outcome.ended !== 'finished') unfinished++;
    ticks += outcome.ticks;
  }
  for (const [key] of TOLD) values[key].sort((a, b) => a - b);
  return { seeds, values, contacts, unfinished, broken, simulated_s: ticks / 1000 };
}

/** Value below which this share of the sorted values lies; NaN when there is none. */
export function quantile(sorted: readonly number[], share: number): number {
  if (sorted.length === 0) return Number.NaN;
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
}
