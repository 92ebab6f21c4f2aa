import { z } from 'zod';
import { FAULT_ROWS, HOLD_ROWS } from '../../../firmware/wire/code-rows.js';
import { TICKS_PER_S } from '../../base/index.js';
import { type DutyReport, dutyReport } from '../../electrical/index.js';
import {
  type FaultFigures,
  type HoldFigures,
  type RequirementResult,
  type RunVerdict,
  STOPPERS,
  VERDICT_WORDS,
} from '../../judge/index.js';
import type { JobRun } from './job-run.js';

const text = (about: string) => z.string().meta({ description: about });
const number = (about: string) => z.number().meta({ description: about });
const count = (about: string) => z.number().int().min(0).meta({ description: about });
/** Null where the run gave no occasion for the figure. */
const figure = (about: string) =>
  z
    .number()
    .nullable()
    .meta({ description: `${about}; null: no occasion in this run` });

const hold = z.strictObject({
  cause: z.enum(HOLD_ROWS.map(({ name }) => name)).meta({ description: 'why the regulator let go' }),
  count: count('holds of this cause'),
  time_s: number('time in them, s'),
  length_mm: number('path travelled in them, mm'),
});

const fault = z.strictObject({
  name: z.enum(FAULT_ROWS.map(({ name }) => name)).meta({ description: 'which fault' }),
  code: count('its number, as the box shows it'),
  at_s: number('moment from power-up, s'),
  measured_V: number('arc voltage as the box measured it, V'),
  contour: z.number().int().meta({ description: 'contour, from 0; -1: before the first' }),
  line: count('line of the program'),
  meaning: text('what happened'),
  remedy: text('what to look at'),
});

const errors = {
  standoff_error_rms_mm: figure('root mean square of standoff minus cut height, in follow and over metal, mm'),
  standoff_error_p95_mm: figure('95 % of that time it is within this, mm'),
  standoff_error_worst_mm: figure('and always within this, mm'),
  standoff_error_mean_mm: figure('its mean; above 0 the torch rides too high, mm'),
};

const contour = z.strictObject({
  contour: count('from 0'),
  line: count('line of the program that asks for the torch'),
  length_mm: number('path cut, mm'),
  starts: count('times that an arc came to burn'),
  arc_on_s: number('time with an arc, s'),
  ...errors,
  least_standoff_mm: figure('least standoff with the arc burning and over metal, mm'),
  holds: z.array(hold),
  faults: z.array(fault),
});

const requirement = z.strictObject({
  name: text('stable name'),
  number: count('number of the requirement; 0: none of the numbered ones'),
  statement: text('what must hold'),
  kept: z.boolean(),
  margin: figure('distance to the limit in `unit`; 0 or more is kept'),
  unit: text('unit of the margin'),
  worst_at_s: figure('moment of the smallest margin, from power-up, s'),
  checked: count('how often the requirement was put to the test, in `checked_unit`; 0: this run says nothing about it'),
  checked_unit: text('unit of `checked`'),
});

const names = (about: string) => z.array(z.string()).meta({ description: about });

const stop = z
  .strictObject({
    by: z.enum(STOPPERS).meta({
      description:
        'box: it raised a fault or refused; operator; time: far longer than the motion takes; user: q or Ctrl-C',
    }),
    cause: text('one word that can be counted: a fault, a line that the operator turned, a refusal'),
    why: text('in words'),
    contour: z.number().int().meta({ description: 'contour, from 0; -1: before the first' }),
    line: count('line of the program'),
    at_s: number('moment from power-up, s'),
  })
  .nullable()
  .meta({ description: 'null: the program came to its end, and the box raised no fault' });

const verdict = z
  .strictObject({
    word: z.enum(VERDICT_WORDS).meta({
      description:
        'finished: the program came to its end, the box raised no fault and no requirement was broken, exit status 0; ' +
        'stopped: it did not come to its end, 4, or 130 by Ctrl-C; broken: a requirement was broken or the torch met the sheet, 1',
    }),
    stop,
    broken: names('requirements that were broken'),
    contacts: count('times that the torch met the sheet outside the touch-off'),
    goals_missed: names('quality goals that were missed; they change neither word nor exit status'),
    untested: names('requirements that this run never put to the test: it says nothing about them'),
  })
  .meta({ description: 'what the run came to' });

/** Figures of the runs that an advice made, without a change or with it. */
const together = (about: string) =>
  z
    .strictObject({
      runs: count('runs, one for each seed'),
      finished: count('of them, those that came to the end of the program'),
      broken: count('those that broke a requirement or met the sheet'),
      goals_missed: count('quality goals missed, of all runs together'),
      error_rms_mm: figure('root mean square of the standoff error, the mean of the runs, mm'),
      least_standoff_mm: figure('least standoff of them all, mm'),
    })
    .nullable()
    .meta({ description: `${about}; null: not tried` });

const value = z.union([z.number(), z.boolean(), z.string()]);

const advice = z.strictObject({
  cause: text('one word for the cause, which can be counted'),
  what: text('what is wrong, with its numbers'),
  seen: text('what one would see of it at a real box'),
  do: text('what to do; empty when nothing that was tried helps'),
  changes: z.array(
    z.strictObject({
      path: text('value of the setup by its path; or world.faults.KIND, program.feed in %, program.waits, operator'),
      from: value.meta({ description: 'what it is' }),
      to: value.meta({ description: 'what it was tried with' }),
    }),
  ),
  tried: z.enum(['tried', 'untried', 'nothing-helped']).meta({
    description:
      'tried: on the seed of this run and five others; untried: there was no time for it, or not for all seeds; ' +
      'nothing-helped: no change made it better without making something else worse',
  }),
  result: text('what came of it, in words'),
  before: together('the same seeds without the change'),
  after: together('with it'),
});

/** What to change after a cut that did not go well, and what came of it when it was tried. */
export type Advice = z.infer<typeof advice>;

const SUMMARY_FORMAT = 'standoff summary 4';

/** What `--json` prints. */
export const summarySchema = z
  .strictObject({
    format: z.literal(SUMMARY_FORMAT).meta({ description: 'what this is, and its version' }),
    verdict,
    program: text('name of the program'),
    seed: count('seed of everything random in the world'),
    outcome: z.strictObject({
      ended: z.enum(['finished', 'stopped', 'limit', 'interrupted']).meta({
        description:
          'how the table left the program. finished: at its end; stopped: before it; limit: it took far too long; ' +
          'interrupted: with q or Ctrl-C',
      }),
      reason: text('in words; empty when finished'),
      line: count('line of the program that was reached'),
      simulated_s: number('length of the run, s'),
    }),
    figures: z.strictObject({
      ...errors,
      standoff_error_p999_mm: figure('99.9 % of that time the error is within this, mm'),
      cut_error_rms_mm: figure('root mean square of the error in settle, follow and hold, mm'),
      following_s: number('time in follow and over metal, s'),
      out_of_tolerance_s: number('time in it with an error beyond the quality goal for 99.9 % of it, s'),
      corner_dive_mm: figure('deepest dive below cut height near a corner, mm'),
      corners: count('times that the torch came near a corner'),
      kerf_crossing_dive_mm: figure('deepest dive below cut height at and after a kerf crossing, mm'),
      crossings: count('kerf crossings'),
      least_standoff_mm: figure('least standoff with the arc burning and over metal, mm'),
      contacts: count('times that the torch met the sheet outside the touch-off'),
      arc_on_s: number('time with an arc, s'),
      starts: count('times that an arc came to burn'),
      cut_length_mm: number('path cut, mm'),
      reversals_per_s: figure('changes of the direction of Z in follow, 1/s'),
      acceleration_limited_share: figure('share of follow at the acceleration limit, 0…1'),
      velocity_limited_share: figure('share of follow at the velocity limit, 0…1'),
      lost_steps: count('Z steps that the motor did not follow'),
      found_target_V: figure('arc voltage at cut height and target feed as the box last found it, V'),
      found_deviation_mm: figure('standard deviation of that, as standoff, mm'),
      found_feed_effect_V: figure('feed effect as the box last found it, V'),
      relay_release_ms: figure('longest time from trigger off to an open firing contact, ms'),
      duty_cycle: number('arc time in the busiest ten minutes, 0…1'),
      simulated_s: number('length of the run, s'),
    }),
    requirements: z.array(requirement),
    quality_goals: z.array(requirement).meta({ description: 'a missed one leaves the verdict alone' }),
    holds: z.array(hold),
    faults: z.array(fault),
    contours: z.array(contour),
    duty: z
      .strictObject({
        allowed_percent: number('duty cycle at the current that is set, by I²·X constant, %'),
        allowed_s: number('arc time that it allows in any ten minutes, s'),
        busiest_s: number('most arc time in any ten minutes of this run, s'),
        pauses: z.array(
          z.strictObject({
            line: count('line of the program before whose arc to wait'),
            at_s: number('when the pause begins, with the pauses before it, s'),
            pause_s: number('how long it lasts, s'),
          }),
        ),
        too_long_lines: z
          .array(z.number().int())
          .meta({ description: 'lines of cuts that are longer than is allowed' }),
        repeat_s: number('least time from start to start when this program is cut again and again, s'),
      })
      .meta({ description: "arc time against the supply's duty cycle" }),
    advice: z.array(advice).meta({ description: 'the root cause first; each change was tried with those before it' }),
    warnings: z.array(z.string()).meta({ description: 'about the input; one sentence each' }),
    module_sha256: z
      .string()
      .regex(/^[0-9a-f]{64}$/)
      .meta({ description: 'SHA-256 of the control module that ran' }),
    world_sha256: z
      .string()
      .regex(/^[0-9a-f]{64}$/)
      .meta({ description: 'SHA-256 of the world module that it ran in' }),
    trace_hash: z
      .string()
      .regex(/^[0-9a-f]+$/)
      .meta({ description: 'of the recorded run; equal runs have equal ones' }),
  })
  .meta({ title: 'Standoff summary', description: 'What a simulated cut came to.' });

/** What a simulated cut came to. */
export type Summary = z.infer<typeof summarySchema>;
/** The JSON Schema of a summary. */
export const summaryJsonSchema = (): object => z.toJSONSchema(summarySchema);

/** Arc time of a run, so far, against the duty cycle of the machine's supply. */
export const dutyOf = ({ job, arcs, outcome }: JobRun): DutyReport =>
  dutyReport(arcs, outcome.ticks / TICKS_PER_S, job.scenario.setup.machine.supply);

/**
 * What a run came to, in the form that `standoff simulate --json` prints. May be asked at any time.
 * @param advice of `advise`
 */
export function summaryOf(run: JobRun, advice: Summary['advice'] = []): Summary {
  const { job, judge, outcome } = run;
  const all = judge.figures.figures();
  const { holds, faults, contours, ...figures } = all;
  const results = judge.results(all);
  const { allowed_percent, study } = dutyOf(run);
  return {
    format: SUMMARY_FORMAT,
    verdict: plainVerdict(judge.verdict(outcome, all, results)),
    program: job.scenario.program.name,
    seed: job.scenario.seed,
    outcome: {
      ended: outcome.ended,
      reason: outcome.reason,
      line: outcome.line,
      simulated_s: outcome.ticks / TICKS_PER_S,
    },
    figures,
    requirements: results.filter(({ kind }) => kind === 'requirement').map(requirementSummary),
    quality_goals: results.filter(({ kind }) => kind === 'goal').map(requirementSummary),
    holds: holds.map(holdSummary),
    faults: faults.map(faultSummary),
    contours: contours.map((contour) => ({
      ...contour,
      holds: contour.holds.map(holdSummary),
      faults: contour.faults.map(faultSummary),
    })),
    duty: {
      allowed_percent,
      allowed_s: study.allowed_s,
      busiest_s: study.busiest_s,
      pauses: study.pauses.map(({ line, at_s, pause_s }) => ({ line, at_s, pause_s })),
      too_long_lines: [...study.too_long],
      repeat_s: study.repeat_s,
    },
    advice,
    warnings: [...job.dangers, ...job.warnings],
    module_sha256: run.module_sha256,
    world_sha256: run.world_sha256,
    trace_hash: run.trace_hash,
  };
}

function requirementSummary({
  kind: _kind,
  worst_tick,
  ...requirement
}: RequirementResult): Summary['requirements'][number] {
  return { ...requirement, worst_at_s: worst_tick === null ? null : worst_tick / TICKS_PER_S };
}

const plainVerdict = (of: RunVerdict): Summary['verdict'] => ({
  ...of,
  broken: [...of.broken],
  goals_missed: [...of.goals_missed],
  untested: [...of.untested],
});

const holdSummary = (hold: HoldFigures) => hold as Summary['holds'][number];

function faultSummary({ tick, code, name, ...fault }: FaultFigures): Summary['faults'][number] {
  const { meaning, remedy } = FAULT_ROWS[code];
  return { name: name as Summary['faults'][number]['name'], code, at_s: tick / TICKS_PER_S, ...fault, meaning, remedy };
}
