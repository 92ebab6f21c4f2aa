import type { DutyReport } from '../../electrical/index.js';
import { dutyOf, type JobRun } from '../../run/job/index.js';
import type { Setup } from '../../run/setup/index.js';
import {
  type RunSummary,
  type SimulatedScene,
  stillPicture,
  summaryText,
  type ViewHistory,
} from '../../views/terminal/index.js';
import { asciiText, type TerminalStyle } from '../../views/text/index.js';
import { dutySentences, timeLineLines } from '../base/duty-text.js';
import { Page } from '../base/page.js';

/** The run as the closing report and its advice want it. */
export function runSummaryOf({ job, judge, outcome }: JobRun): RunSummary {
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

/**
 * Warnings, picture and closing report, as they are printed at the end of a run.
 * @param picture what it is drawn from; undefined after the live view, which has shown it
 */
export function reportText(
  run: JobRun,
  history: ViewHistory<SimulatedScene> | undefined,
  style: TerminalStyle,
): string {
  const notes = run.job.warnings.map((warning) => `note: ${warning}`).join('\n');
  const blocks = [
    style.unicode ? notes : asciiText(notes),
    history ? stillPicture(history, style.columns, style).join('\n') : '',
    dutyText(dutyOf(run), style),
    summaryText(runSummaryOf(run), style.columns, style),
  ];
  return `${blocks.filter((block) => block !== '').join('\n\n')}\n`;
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
