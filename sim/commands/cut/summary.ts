import { FAULT_ROWS } from '../../../firmware/wire/code-rows.js';
import { TICKS_PER_S } from '../../base/index.js';
import type { FaultFigures, HoldFigures, RequirementResult } from '../../judge/index.js';
import { adviceFor } from '../../views/terminal/index.js';
import type { Session } from '../base/session.js';
import { dutyReportOf, runSummaryOf } from './report.js';
import { SUMMARY_FORMAT, type Summary } from './summary-schema.js';

/** What a run came to, in the form that `--json` prints. May be asked at any time. */
export function summaryOf(session: Session): Summary {
  const { job, judge, outcome } = session;
  const { holds, faults, contours, ...figures } = judge.figures.figures();
  const results = judge.results();
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
    qualities: results.filter(({ kind }) => kind === 'goal').map(requirementSummary),
    holds: holds.map(holdSummary),
    faults: faults.map(faultSummary),
    contours: contours.map((contour) => ({
      ...contour,
      holds: contour.holds.map(holdSummary),
      faults: contour.faults.map(faultSummary),
    })),
    duty: dutySummary(session),
    advice: adviceFor(runSummaryOf(session)),
    warnings: [...job.warnings],
    module_sha256: session.module_sha256,
    trace_hash: session.trace_hash,
  };
}

function dutySummary(session: Session): Summary['duty'] {
  const { allowed_percent, study } = dutyReportOf(session);
  return {
    allowed_percent,
    allowed_s: study.allowed_s,
    busiest_s: study.busiest_s,
    pauses: study.pauses.map(({ line, at_s, pause_s }) => ({ line, at_s, pause_s })),
    too_long_lines: [...study.too_long],
    repeat_s: study.repeat_s,
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
  const { meaning, remedy } = FAULT_ROWS[code]!;
  return { name: name as Summary['faults'][number]['name'], code, at_s: tick / TICKS_PER_S, ...fault, meaning, remedy };
}
