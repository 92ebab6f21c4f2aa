import type { ContourFigures, RequirementResult, RunFigures, RunStop, Stopper } from '../../judge/index.js';
import {
  type Alignment,
  asciiText,
  clockText,
  counted,
  type DrawStyle,
  fixed,
  TONE_ALARM,
  TONE_PLAIN,
  TONE_QUIET,
  TONE_STRONG,
  tableLines,
  toned,
  wrapText,
} from '../text/index.js';
import type { RunSummary } from './run-summary.js';
import type { Said } from './sentences.js';

/** A long program shows its worst contours only; nobody reads ten thousand rows. */
const MOST_ROWS = 24;

const HEAD = ['no.', 'line', 'mm', 'starts', 'rms', '95 %', 'worst', 'least', 'holds', 'faults'];
const ALIGNMENT: readonly Alignment[] = [
  ...new Array<Alignment>(8).fill('right'),
  ...new Array<Alignment>(2).fill('left'),
];

/** Contours in a table, or one paragraph each where the table would be too wide. */
function contourLines(contours: readonly ContourFigures[], width: number): string[] {
  const shown = worstFirst(contours);
  const rows = shown.map(cells);
  // The last column is left out when it has nothing to say.
  const used = shown.some(({ faults }) => faults.length > 0) ? HEAD.length : HEAD.length - 1;
  const table = tableLines(
    HEAD.slice(0, used),
    rows.map((row) => row.slice(0, used)),
    ALIGNMENT,
    width,
  );
  const lines = table ?? shown.flatMap((one) => paragraph(one, width));
  const rest = contours.length - shown.length;
  if (rest > 0)
    lines.push(...wrapText(`and ${counted(rest, 'contour')} without fault and with a smaller worst error.`, width));
  return lines;
}

/** All of them in their order, or the worst MOST_ROWS of them in their order. */
function worstFirst(contours: readonly ContourFigures[]): readonly ContourFigures[] {
  if (contours.length <= MOST_ROWS) return contours;
  const weight = (one: ContourFigures) => 1000 * one.faults.length + (one.standoff_error_worst_mm ?? 0);
  const worst = [...contours].sort((a, b) => weight(b) - weight(a)).slice(0, MOST_ROWS);
  return worst.sort((a, b) => a.contour - b.contour);
}

const millimetres = (value: number | null) => fixed(value ?? Number.NaN, 2);

function cells(one: ContourFigures): string[] {
  return [
    String(one.contour + 1),
    String(one.line),
    fixed(one.length_mm, 0),
    String(one.starts),
    fixed(one.standoff_error_rms_mm ?? Number.NaN, 3),
    millimetres(one.standoff_error_p95_mm),
    millimetres(one.standoff_error_worst_mm),
    millimetres(one.least_standoff_mm),
    holdsText(one) || '-',
    faultsText(one) || '-',
  ];
}

function paragraph(one: ContourFigures, width: number): string[] {
  const parts = [
    `${one.contour + 1} (line ${one.line}): ${fixed(one.length_mm, 0)} mm, ${counted(one.starts, 'start')}`,
    `error rms ${cells(one)[4]}, 95 % ${millimetres(one.standoff_error_p95_mm)}, worst ${millimetres(one.standoff_error_worst_mm)} mm`,
    `least standoff ${millimetres(one.least_standoff_mm)} mm`,
  ];
  if (one.holds.length > 0) parts.push(`holds: ${holdsText(one)}`);
  if (one.faults.length > 0) parts.push(`faults: ${faultsText(one)}`);
  return wrapText(`${parts.join('; ')}.`, width, 2);
}

/** `2 corner, 1 crossing`. */
function holdsText(one: ContourFigures): string {
  return one.holds
    .filter(({ count }) => count > 0)
    .map(({ count, cause }) => `${count} ${cause}`)
    .join(', ');
}

function faultsText(one: ContourFigures): string {
  return one.faults.map(({ name }) => name).join(', ');
}

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
  block('Requirements and quality goals', requirementLines(run.requirements, columns));
  block('Figures', figureLines(run.figures, columns));
  const arc = arcText(run);
  if (arc !== '') say(arc, TONE_PLAIN, 2);

  if (run.advice.length > 0) {
    lines.push({ text: '', tone: TONE_PLAIN });
    say('What to change', TONE_STRONG);
    for (const { what, seen, do: act, result } of run.advice)
      say(`- ${[what, seen, act, result].filter((sentence) => sentence !== '').join(' ')}`, TONE_PLAIN, 2);
    say(
      'Before a hand goes to torch, leads or divider: unplug the supply, and prove it dead with a meter.',
      TONE_STRONG,
    );
  }
  lines.push({ text: '', tone: TONE_PLAIN });
  for (const caution of CAUTIONS) say(caution, TONE_QUIET);
  return lines.map(({ text, tone }) => toned(text, tone, style)).join('\n');
}

function triedText(run: RunSummary): string {
  const conditions = run.conditions.length > 0 ? `; ${run.conditions.join('; ')}` : '';
  return `Tried: ${run.program}, seed ${run.seed}${conditions}.`;
}

/** The verdict in one sentence: finished, stopped or broken; requirements, contacts, and how well the standoff was kept. */
function foundText(run: RunSummary): Said {
  const { figures, requirements, verdict } = run;
  const { broken, goals_missed, untested, stop } = verdict;
  const parts = [headText(run)];
  const tested = requirements.filter(({ kind }) => kind === 'requirement').length - untested.length;
  if (broken.length === 0)
    parts.push(tested === 0 ? 'no requirement was put to the test' : keptText(tested, untested.length));
  if (figures.contacts === 0) parts.push('the torch never hit the sheet');
  if (figures.standoff_error_p999_mm !== null)
    parts.push(
      `while following the standoff was within ${fixed(figures.standoff_error_p999_mm, 2)} mm for 99.9 % of the time`,
    );
  // A goal that the run never put to the test was not met either.
  const idle = requirements.some(({ kind, checked }) => kind === 'goal' && checked === 0);
  const none_missed = idle ? 'no quality goal missed' : 'every quality goal met';
  parts.push(goals_missed.length === 0 ? none_missed : `${counted(goals_missed.length, 'quality goal')} missed`);
  const bad = verdict.word === 'broken' || (stop !== null && stop.by !== 'user');
  return { text: `${parts.join('; ')}.`, tone: bad ? TONE_ALARM : TONE_STRONG };
}

function keptText(tested: number, untested: number): string {
  const never = untested === 0 ? '' : `, ${untested} more never put to the test`;
  return `${counted(tested, 'requirement')} kept${never}`;
}

function headText(run: RunSummary): string {
  const { verdict, contours, figures } = run;
  const { broken, contacts, stop } = verdict;
  const cut = contours === 1 ? 'its one contour' : `${contours} contours`;
  const end = stop
    ? stopText(stop, contours)
    : `the program came to its end, ${cut} in ${clockText(figures.simulated_s)}`;
  if (verdict.word === 'finished') return `Finished: ${end}`;
  if (verdict.word === 'stopped') return end;
  const what = [
    ...(broken.length > 0 ? [`${counted(broken.length, 'REQUIREMENT', 'REQUIREMENTS')} (${broken.join(', ')})`] : []),
    ...(contacts > 0 ? [`${counted(contacts, 'CONTACT', 'CONTACTS')} with the sheet`] : []),
  ];
  return `BROKEN: ${what.join('; ')}; ${end}`;
}

/** Who or what stopped a run, after `stopped by`. */
export const STOPPER_WORDS: Readonly<Record<Stopper, string>> = {
  box: 'the box',
  operator: 'the operator',
  time: 'the clock',
  user: 'you',
};

/** `STOPPED by the box in contour 4 of 10, line 40, at 0:34: no-voltage, the arc voltage fell to nothing`. */
function stopText({ by, cause, why, contour, line, at_s }: RunStop, contours: number): string {
  const where = contour < 0 ? 'before the first contour' : `in contour ${contour + 1} of ${contours}`;
  const said = by === 'user' || by === 'time' ? why : `${cause}, ${why}`;
  return `STOPPED by ${STOPPER_WORDS[by]} ${where}, line ${line}, at ${clockText(at_s)}: ${said}`;
}

/** What the box was told of the arc, and what it found; empty where it finds nothing. */
function arcText({ parameters, figures }: RunSummary): string {
  const { found_target_V, found_deviation_mm, found_feed_effect_V } = figures;
  if (parameters.target_learned !== 1 || found_target_V === null) return '';
  const volts = `told ${parameters.target_V} V, found ${fixed(found_target_V, 1)} V`;
  const feed = `feed effect told ${parameters.feed_effect_V} V, found ${fixed(found_feed_effect_V ?? Number.NaN, 1)} V`;
  return `The arc at cut height: ${volts} (standard deviation ${fixed(found_deviation_mm ?? Number.NaN, 2)} mm); ${feed}.`;
}

/** Broken requirements and missed quality goals one by one; the others are counted, with those that never came up. */
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
    const idle = kept.filter(({ checked }) => checked === 0).length;
    const [noun, verb] =
      kind === 'requirement' ? (['requirement', 'kept'] as const) : (['quality goal', 'met'] as const);
    const parts = [
      ...(kept.length > idle ? [`${counted(kept.length - idle, noun)} ${verb}`] : []),
      ...(idle > 0 ? [`${kept.length > idle ? `${idle} more` : counted(idle, noun)} never put to the test`] : []),
    ];
    if (parts.length > 0) lines.push(...wrapText(`${parts.join('; ')}.`, width, 2));
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
