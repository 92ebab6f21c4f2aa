import { TICKS_PER_S } from '../../base/index.js';
import type { Setup } from '../../run/setup/index.js';
import {
  asciiText,
  type RunSummary,
  stillPicture,
  summaryText,
  type TerminalStyle,
} from '../../views/terminal/index.js';
import { Page } from '../base/page.js';
import type { Session } from '../../run/job/job-run.js';
import { type DutyReport, dutyReport, dutySentences, timeLineLines } from './duty-report.js';

/** The run as the closing report and its advice want it. */
export function runSummaryOf({ job, judge, outcome }: Session): RunSummary {
  const { program, seed, setup } = job.scenario;
  return {
    program: program.name,
    seed,
    contours: job.plan.contours.length,
    conditions: conditionsOf(setup),
    outcome,
    parameters: setup.box,
    figures: judge.figures.figures(),
    requirements: judge.results(),
  };
}

/** Warnings, picture and closing report, as they are printed at the end of a run. */
export function reportText(session: Session, style: TerminalStyle, picture: boolean): string {
  const { history, scene, job } = session;
  const still = picture && history ? stillPicture(history, scene, style.columns, style) : [];
  const notes = job.warnings.map((warning) => `note: ${warning}`).join('\n');
  const blocks = [
    style.unicode ? notes : asciiText(notes),
    still.join('\n'),
    dutyText(dutyReportOf(session), style),
    summaryText(runSummaryOf(session), style.columns, style),
  ];
  return `${blocks.filter((block) => block !== '').join('\n\n')}\n`;
}

/** The arcs of a run against the supply's duty cycle. */
export function dutyReportOf({ job, arcs, outcome }: Session): DutyReport {
  return dutyReport(arcs.arcs(), outcome.ticks / TICKS_PER_S, job.scenario.setup.machine);
}

function dutyText(report: DutyReport, style: TerminalStyle): string {
  if (report.study.arc_s === 0) return '';
  const page = new Page(style).heading('Duty cycle');
  for (const { text, alarm } of dutySentences(report)) {
    if (alarm) page.alarm(text);
    else page.say(text);
  }
  return page
    .raw(timeLineLines(report, page.width, style))
    .text()
    .trimEnd();
}

/** What was assumed about sheet, arc and noise, with units; and what broke. */
function conditionsOf({ machine, world }: Setup): string[] {
  const { sheet, arc, noise, faults } = world;
  const tilt_percent = 100 * Math.sqrt(sheet.tilt_x ** 2 + sheet.tilt_y ** 2);
  return [
    `sheet ${machine.table.sheet_thickness_mm} mm, waves ±${sheet.wave_mm} mm over ${sheet.wave_length_mm} mm, ` +
      `tilt ${Number(tilt_percent.toFixed(2))} %, heat growth ${sheet.heat_growth_mm_per_s} mm/s`,
    `arc ${arc.slope_V_per_mm} V/mm, feed effect ${arc.feed_effect_V} V, kerf crossing ${arc.crossing_V} V`,
    `noise ${noise.white_V_rms_per_tick} V rms a tick, ripple ${noise.ripple_V_peak} V`,
    ...faults.map(({ kind, at_s }) => `fault ${kind} from ${at_s} s`),
  ];
}
