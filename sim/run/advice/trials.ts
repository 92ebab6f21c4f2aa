/** Runs of a cut with something changed, within a time, and what each came to in numbers that can be compared. */
import { StandoffError } from '../../base/index.js';
import { Judge, type RunFigures, type RunVerdict, requirementContext } from '../../judge/index.js';
import type { Plan } from '../../world/motion/index.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { type Job, type JobRun, jobOf } from '../job/index.js';
import { Runner } from '../loop/index.js';
import type { Scenario } from '../setup/index.js';

/** What one run came to. */
export interface Trial {
  readonly plan: Plan;
  readonly figures: RunFigures;
  readonly verdict: RunVerdict;
  readonly finished: boolean;
  readonly broken: readonly string[];
  readonly contacts: number;
  readonly goals_missed: readonly string[];
  /** Null: it never followed. */
  readonly error_rms_mm: number | null;
  /** Least standoff of each contour in order, mm; null where none was cut. The last one of a run that stopped is a part. */
  readonly least_mm: readonly (number | null)[];
  /** How bad it was: 0 a cut without trouble; one goal missed by a little 1, a stop 20 and more, a contact 60 and more. */
  readonly cost: number;
  /** Standoff below which the torch is lower than any quality goal lets it, mm. */
  readonly lowest_mm: number;
}

const COST = { broken: 60, contact: 1, stopped: 20, uncut: 20, missed: 1, most_over: 3, error: 0.5 };

/** A run with its judge, such as a JobRun. */
export type Judged = Pick<JobRun, 'judge' | 'context' | 'outcome'> & { readonly job: Pick<Job, 'plan'> };

/** What a run came to, at its end. */
export function trialOf({ job: { plan }, judge, context, outcome }: Judged): Trial {
  const figures = judge.figures.figures();
  const results = judge.results(figures);
  const verdict = judge.verdict(outcome, figures, results);
  const { broken, contacts, goals_missed, stop } = verdict;
  const limits = context.goals;
  const rms_mm = figures.standoff_error_rms_mm;
  const length_mm = figures.contours.reduce((sum, contour) => sum + contour.length_mm, 0);
  let cost = broken.length > 0 || contacts > 0 ? COST.broken + COST.contact * Math.min(contacts, 10) : 0;
  if (stop !== null) cost += COST.stopped + COST.uncut * (1 - Math.min(1, length_mm / plan.cut_length_mm));
  for (const { kept, kind, margin, unit } of results) {
    if (kept || kind !== 'goal') continue;
    // Goals in mm are missed by a little or by much; 0.2 mm is the tolerance of the standoff.
    const over = unit === 'mm' ? Math.max(0, -(margin ?? 0)) / limits.following_p999_mm : 1;
    cost += COST.missed + Math.min(COST.most_over, over);
  }
  if (rms_mm !== null) cost += (COST.error * rms_mm) / limits.following_rms_mm;
  return {
    plan,
    figures,
    verdict,
    finished: stop === null,
    broken,
    contacts,
    goals_missed,
    error_rms_mm: rms_mm,
    least_mm: figures.contours.map(({ least_standoff_mm }) => least_standoff_mm),
    cost,
    lowest_mm: context.parameters.cut_height_mm - limits.corner_dive_mm,
  };
}

/** Milliseconds of any clock. */
export type Clock = () => number;

/** Runs of one cut and of changed ones, until the time is over. */
export class Trials {
  private readonly end_ms: number;
  private longest_ms = 0;
  /** Something was left out for want of time. */
  ran_out = false;

  constructor(
    private readonly module: ControlModule,
    private readonly clock: Clock,
    time_ms: number,
  ) {
    this.end_ms = clock() + time_ms;
  }

  /** Whether so many more runs, each as long as the longest so far, still fit in. */
  fits(runs: number): boolean {
    const fits = this.clock() + runs * this.longest_ms < this.end_ms;
    if (!fits) this.ran_out = true;
    return fits;
  }

  /** Undefined: there was no time for it, or the box or the sheet refuses the changed cut. */
  run(changed: () => Scenario): Trial | undefined {
    const began_ms = this.clock();
    const made = this.begin(changed);
    if (made === undefined) return undefined;
    const { runner, judge, ...rest } = made;
    while (!runner.finished) {
      if (this.clock() >= this.end_ms) {
        this.ran_out = true;
        return undefined;
      }
      runner.runBlock();
      judge.block(runner.block);
    }
    this.longest_ms = Math.max(this.longest_ms, this.clock() - began_ms);
    return trialOf({ ...rest, judge, outcome: runner.outcome });
  }

  /** As a JobRun does, without its trace. */
  private begin(changed: () => Scenario) {
    try {
      const job = jobOf(changed());
      const { setup, seed, operator } = job.scenario;
      const { box, machine, world } = setup;
      const controller = new WasmController(this.module);
      const options = { box, machine, world, plan: job.plan, seed, controller, ...(operator && { operator }) };
      const context = requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms });
      return { job, context, runner: new Runner(options), judge: new Judge(context) };
    } catch (error) {
      if (error instanceof StandoffError) return undefined;
      throw error;
    }
  }
}
