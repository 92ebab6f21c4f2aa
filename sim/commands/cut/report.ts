import { DUTY_PERIOD_S, DUTY_RULE_SOURCE, type DutyReport, sourceText, timeLine } from '../../electrical/index.js';
import { dutyOf, type JobRun } from '../../run/job/index.js';
import type { Setup } from '../../run/setup/index.js';
import {
  asciiText,
  clockText,
  type DrawStyle,
  fixed,
  type RunSummary,
  stillPicture,
  summaryText,
  type TerminalStyle,
  type ViewHistory,
  type ViewScene,
} from '../../views/terminal/index.js';
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
  picture: { readonly history: ViewHistory; readonly scene: ViewScene } | undefined,
  style: TerminalStyle,
): string {
  const notes = run.job.warnings.map((warning) => `note: ${warning}`).join('\n');
  const blocks = [
    style.unicode ? notes : asciiText(notes),
    picture ? stillPicture(picture.history, picture.scene, style.columns, style).join('\n') : '',
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

/** Pauses that are listed one by one. */
const MOST_PAUSES = 12;

/** What the duty cycle asks for, one sentence each; `alarm` where it is exceeded. */
export function dutySentences(report: DutyReport): { readonly text: string; readonly alarm: boolean }[] {
  const { study, allowed_percent, cut_A, rated_A, rated_percent, length_s } = report;
  const over = study.busiest_s > study.allowed_s + 0.001;
  const scaled = cut_A === rated_A ? '' : `, from ${rated_percent} % at ${rated_A} A (${sourceText(DUTY_RULE_SOURCE)})`;
  const sentences = [
    {
      text:
        `Arc on for ${clockText(study.busiest_s)} of the busiest ten minutes (${fixed((100 * study.busiest_s) / DUTY_PERIOD_S, 1)} %); ` +
        `the supply allows ${clockText(study.allowed_s)} (${fixed(allowed_percent, 0)} %) at ${cut_A} A${scaled}.`,
      alarm: over,
    },
  ];
  for (const line of study.too_long) {
    sentences.push({ text: `The cut at line ${line} alone is longer than that: no pause helps it.`, alarm: true });
  }
  for (const { line, pause_s, at_s } of study.pauses.slice(0, MOST_PAUSES)) {
    sentences.push({
      text: `Pause ${clockText(Math.ceil(pause_s))} before line ${line}, at ${clockText(at_s)}.`,
      alarm: false,
    });
  }
  const left = study.pauses.length - MOST_PAUSES;
  if (left > 0) sentences.push({ text: `And ${left} more pauses; --json lists them all.`, alarm: false });
  if (study.pauses.length === 0 && study.too_long.length === 0) {
    const every_s = Math.max(length_s, study.repeat_s);
    const text = `No pause is needed. Repeated without end, one start every ${clockText(Math.ceil(every_s))} stays within the duty cycle.`;
    sentences.push({ text, alarm: false });
  }
  return sentences;
}

const BARS = { unicode: [' ', '░', '▒', '▓', '█'], ascii: [' ', '.', ':', '+', '#'] } as const;

/** Arc, pauses and how much of the allowance the last ten minutes used, along the time. */
export function timeLineLines({ study, paced_s }: DutyReport, width: number, { unicode }: DrawStyle): string[] {
  const steps = Math.max(10, width - 8);
  const { arc, pause, used } = timeLine(study, paced_s, steps);
  const bars = unicode ? BARS.unicode : BARS.ascii;
  const bar = (share: number) => bars[share <= 0.005 ? 0 : Math.min(4, 1 + Math.floor(share * 4))];
  const tenths = (share: number) => (share > 1.001 ? '!' : String(Math.min(9, Math.floor(share * 10 + 1e-9))));
  const end = clockText(paced_s);
  return [
    `arc     ${arc.map(bar).join('')}`,
    ...(study.pauses.length > 0 ? [`pause   ${pause.map((share) => (share > 0.005 ? 'P' : ' ')).join('')}`] : []),
    `used    ${used.map(tenths).join('')}`,
    `        0:00${end.padStart(steps - 4)}`,
  ].map((line) => line.trimEnd());
}

/** What the digits of the time line say. */
export const USED_WORDS =
  'Used: tenths of the allowance that the ten minutes up to there took; ! is more than all of it.';
