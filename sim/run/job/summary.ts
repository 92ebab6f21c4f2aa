import { z } from 'zod';
import { FAULT_ROWS, HOLD_ROWS } from '../../../firmware/wire/code-rows.js';
import { TICKS_PER_S } from '../../base/index.js';
import { type DutyReport, dutyReport } from '../../electrical/index.js';
import type { FaultFigures, HoldFigures, RequirementResult } from '../../judge/index.js';
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

const SUMMARY_FORMAT = 'standoff summary 2';

/** What `--json` prints. */
export const summarySchema = z
  .strictObject({
    format: z.literal(SUMMARY_FORMAT).meta({ description: 'what this is, and its version' }),
    kept: z.boolean().meta({ description: 'every requirement was kept, as far as the run got; false: exit status 1' }),
    program: text('name of the program'),
    seed: count('seed of everything random in the world'),
    outcome: z.strictObject({
      ended: z.enum(['finished', 'stopped', 'limit', 'interrupted']).meta({
        description:
          'finished: the program ended, exit status 0 if every requirement was kept; stopped: the table stopped, 4; ' +
          'limit: it took far too long, 4; interrupted: ended with q, 4, or broken off by Ctrl-C, 130',
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
    quality_goals: z.array(requirement).meta({ description: 'a missed one leaves `kept` alone' }),
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
    advice: z
      .array(
        z.strictObject({
          what: text('what happened'),
          parameter: text('what governs it; empty when no parameter does'),
          do: text('what to do'),
        }),
      )
      .meta({ description: 'one for each thing that went wrong' }),
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
 * @param advice one piece for each thing that went wrong, as whoever shows the run words it
 */
export function summaryOf(run: JobRun, advice: Summary['advice'] = []): Summary {
  const { job, judge, outcome } = run;
  const { holds, faults, contours, ...figures } = judge.figures.figures();
  const results = judge.results();
  const { allowed_percent, study } = dutyOf(run);
  return {
    format: SUMMARY_FORMAT,
    kept: judge.kept(),
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
    warnings: [...job.warnings],
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

const holdSummary = (hold: HoldFigures) => hold as Summary['holds'][number];

function faultSummary({ tick, code, name, ...fault }: FaultFigures): Summary['faults'][number] {
  const { meaning, remedy } = FAULT_ROWS[code];
  return { name: name as Summary['faults'][number]['name'], code, at_s: tick / TICKS_PER_S, ...fault, meaning, remedy };
}
