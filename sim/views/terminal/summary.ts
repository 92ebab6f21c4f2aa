import type { RequirementResult, RunFigures } from '../../judge/index.js';
import { adviceFor } from './advice.js';
import { contourLines } from './contour-table.js';
import { TONE_ALARM, TONE_PLAIN, TONE_QUIET, TONE_STRONG, toned } from './picture.js';
import type { RunSummary } from './run-summary.js';
import type { Said } from './sentences.js';
import type { DrawStyle } from './style.js';
import { tableLines } from './table.js';
import { asciiText, clockText, counted, fixed, wrapText } from './text.js';

const LEAST_WIDTH = 30;

export const CAUTIONS: readonly string[] = [
  'Simulated, within the ranges above only. Voltages of an open plasma arc kill.',
  'Electrical code and licensed practice come before anything printed here.',
];

/**
 * The closing report of a run: what was tried, what was found, contours, broken requirements, figures, advice,
 * cautions. It never says that anything is safe: it says what was tried and found.
 *
 * @param width columns; below 30 the text is 30 wide.
 * @returns lines joined by line feeds, none at the end.
 */
export function summaryText(run: RunSummary, width: number, style: DrawStyle): string {
  const columns = Math.max(LEAST_WIDTH, Math.floor(width));
  const lines: Said[] = [];
  const say = (text: string, tone = TONE_PLAIN, indent = 0) => {
    for (const line of wrapText(style.unicode ? text : asciiText(text), columns, indent))
      lines.push({ text: line, tone });
  };
  const block = (title: string, body: readonly string[]) => {
    if (body.length === 0) return;
    lines.push({ text: '', tone: TONE_PLAIN });
    say(title, TONE_STRONG);
    for (const text of body) lines.push({ text: style.unicode ? text : asciiText(text), tone: TONE_PLAIN });
  };

  say(triedText(run), TONE_PLAIN, 2);
  const found = foundText(run);
  say(found.text, found.tone, 2);
  block(
    'Contours: path, starts, standoff error and least standoff in mm, holds, faults',
    contourLines(run.figures.contours, columns),
  );
  block('Requirements', requirementLines(run.requirements, columns));
  block('Figures', figureLines(run.figures, columns));

  const advice = adviceFor(run);
  if (advice.length > 0) {
    lines.push({ text: '', tone: TONE_PLAIN });
    say('What to change', TONE_STRONG);
    for (const { what, parameter, do: act } of advice)
      say(`- ${what}. ${parameter === '' ? sentence(act) : `${parameter}: ${act}`}.`, TONE_PLAIN, 2);
  }
  lines.push({ text: '', tone: TONE_PLAIN });
  for (const caution of CAUTIONS) say(caution, TONE_QUIET);
  return lines.map(({ text, tone }) => toned(text, tone, style)).join('\n');
}

const sentence = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

function triedText(run: RunSummary): string {
  const conditions = run.conditions.length > 0 ? `; ${run.conditions.join('; ')}` : '';
  return `Tried: ${run.program}, seed ${run.seed}${conditions}.`;
}

/** The verdict in one sentence: how far it came, requirements, contacts, and how well the standoff was kept. */
function foundText(run: RunSummary): Said {
  const { figures, outcome, requirements } = run;
  const broken = requirements.filter((requirement) => requirement.kind === 'requirement' && !requirement.kept).length;
  const missed = requirements.filter((requirement) => requirement.kind === 'goal' && !requirement.kept).length;
  const parts = [endText(run)];
  parts.push(broken === 0 ? 'no requirement was broken' : `${counted(broken, 'REQUIREMENT', 'LAWS')} BROKEN`);
  parts.push(
    figures.contacts === 0
      ? 'the torch never met the sheet'
      : `${counted(figures.contacts, 'CONTACT', 'CONTACTS')} with the sheet`,
  );
  if (figures.standoff_error_p999_mm !== null)
    parts.push(
      `while following the standoff was within ${fixed(figures.standoff_error_p999_mm, 2)} mm for 99.9 % of the time`,
    );
  parts.push(missed === 0 ? 'no wish was missed' : `${counted(missed, 'wish', 'wishes')} missed`);
  const bad = broken > 0 || figures.contacts > 0 || outcome.ended === 'stopped' || outcome.ended === 'limit';
  return { text: `Found: ${parts.join('; ')}.`, tone: bad ? TONE_ALARM : TONE_STRONG };
}

function endText({ outcome, contours, figures }: RunSummary): string {
  const time = clockText(figures.simulated_s);
  switch (outcome.ended) {
    case 'finished':
      return `the program came to its end, ${contours === 1 ? 'its one contour' : `${contours} contours`} in ${time}`;
    case 'interrupted':
      return `only a part of the program was run, to line ${outcome.line} in ${time}`;
    default:
      return `the program did not come to its end: ${outcome.reason}, line ${outcome.line}`;
  }
}

/** Broken requirements and missed wishes one by one; the kept ones are counted, with those that never came up. */
function requirementLines(requirements: readonly RequirementResult[], width: number): string[] {
  const lines: string[] = [];
  for (const requirement of requirements.filter(({ kept }) => !kept)) {
    const word = requirement.kind === 'requirement' ? 'BROKEN' : 'missed';
    const number = requirement.number > 0 ? `requirement ${requirement.number}, ` : '';
    const at = requirement.worst_tick === null ? '' : ` at ${fixed(requirement.worst_tick / 1000, 3)} s`;
    const by = requirement.margin === null ? '' : `, by ${fixed(-requirement.margin, 3)} ${requirement.unit}${at}`;
    lines.push(...wrapText(`${word}: ${number}${requirement.name}${by}: ${requirement.statement}.`, width, 2));
  }
  for (const kind of ['requirement', 'goal'] as const) {
    const kept = requirements.filter((requirement) => requirement.kind === kind && requirement.kept);
    if (kept.length === 0) continue;
    const idle = kept.filter(({ checked }) => checked === 0).length;
    const many = kind === 'requirement' ? counted(kept.length, 'requirement') : counted(kept.length, 'wish', 'wishes');
    const never = idle === 0 ? 'all of them put to the test' : `${idle} of them never put to the test by this run`;
    lines.push(...wrapText(`kept: ${many}, ${never}.`, width, 2));
  }
  return lines;
}

function figureLines(figures: RunFigures, width: number): string[] {
  const mm = (value: number | null, decimals = 2) => `${fixed(value ?? Number.NaN, decimals)} mm`;
  const percent = (value: number | null) => `${fixed(100 * (value ?? Number.NaN), 1)} %`;
  const pairs: [string, string][] = [
    ['standoff error, rms', mm(figures.standoff_error_rms_mm, 3)],
    ['99.9 % of it within', mm(figures.standoff_error_p999_mm)],
    ['worst', mm(figures.standoff_error_worst_mm)],
    ['mean', mm(figures.standoff_error_mean_mm, 3)],
    ['corner dive', mm(figures.corner_dive_mm)],
    ['kerf crossing dive', mm(figures.kerf_crossing_dive_mm)],
    ['least standoff', mm(figures.least_standoff_mm)],
    ['contacts', String(figures.contacts)],
    ['arc on', `${fixed(figures.arc_on_s, 1)} s`],
    ['starts', String(figures.starts)],
    ['cut length', `${fixed(figures.cut_length_mm / 1000, 2)} m`],
    ['duty, ten minutes', percent(figures.duty_cycle)],
    ['Z reversals', `${fixed(figures.reversals_per_s ?? Number.NaN, 1)} /s`],
    ['Z at acceleration limit', percent(figures.acceleration_limited_share)],
    ['Z at speed limit', percent(figures.velocity_limited_share)],
    ['Z steps lost', String(figures.lost_steps)],
  ];
  const half = Math.ceil(pairs.length / 2);
  const two = Array.from({ length: half }, (_, at) => [...pairs[at], '', ...(pairs[at + half] ?? ['', ''])]);
  const sides = ['left', 'right', 'left', 'left', 'right'] as const;
  const wide = tableLines(['', '', '', '', ''], two, sides, width);
  const one = wide ?? tableLines(['', ''], pairs, ['left', 'right'], width) ?? pairs.map((pair) => pair.join(' '));
  return wide || one[0] === '' ? one.slice(1) : one;
}
