// What a campaign shows while it runs, and what it says at its end.
import {
  brokenIn,
  type CampaignRecord,
  chanceBound,
  finishedTable,
  finishedTotal,
  missingSpans,
  nearestBound,
  QUALITY_FIGURES,
  type QualityFigure,
  quantileOf,
  type Ranges,
  type RequirementTally,
  type Span,
  writeRecord,
} from '../../campaign/index.js';
import { STOPPERS } from '../../judge/index.js';
import { STOPPER_WORDS } from '../../views/terminal/index.js';
import {
  asciiText,
  clockText,
  counted,
  fitText,
  type TerminalStyle,
  tableLines,
  terminalStyle,
  wrapText,
} from '../../views/text/index.js';

/** One line that is written over: cases, rate, time left, what broke, the least distance. On a pipe it stays silent. */
export class CampaignProgress {
  private first_ms = 0;
  private first_done = -1;
  private shown_ms = 0;
  private readonly visible: boolean;

  constructor(
    private readonly stream: Pick<NodeJS.WriteStream, 'isTTY' | 'columns' | 'write'>,
    private readonly span: Span,
    wanted: boolean,
    private readonly now_ms: () => number = Date.now,
  ) {
    this.visible = wanted && stream.isTTY === true;
  }

  show({ tally, covered }: CampaignRecord): void {
    if (!this.visible) return;
    const now_ms = this.now_ms();
    const done = covered.reduce((sum, [from, to]) => sum + to - from, 0);
    // The rate counts from the first report: what came before it was the start of the threads, or another sitting.
    if (this.first_done < 0) {
      this.first_done = done;
      this.first_ms = now_ms;
    }
    if (now_ms - this.shown_ms < 200) return;
    this.shown_ms = now_ms;
    const rate = (done - this.first_done) / Math.max(0.001, (now_ms - this.first_ms) / 1000);
    const whole = this.span[1] - this.span[0];
    const left_s = rate > 0 ? (whole - done) / rate : Number.NaN;
    const broken = brokenIn(tally).length;
    const nearest = nearestBound(tally);
    this.put([
      `${done} of ${whole} cuts`,
      `${rate > 0 ? rate.toFixed(0) : '-'}/s`,
      `${clockText(left_s)} left`,
      broken === 0 ? 'none broken' : `${counted(broken, 'REQUIREMENT', 'REQUIREMENTS')} BROKEN`,
      ...(nearest ? [`${nearest[0]} ${nearest[1].worst_margin!.toFixed(2)} mm`] : []),
    ]);
  }

  end(): void {
    if (this.visible && this.shown_ms > 0) this.stream.write('\r\x1b[K');
  }

  private put(parts: readonly string[]): void {
    this.stream.write(`\r${fitText(parts.join('  '), (this.stream.columns ?? 80) - 1)}\x1b[K`);
  }
}

/** Prints what a campaign says, for a person or as JSON. @param steps sentences on what was stored and what to type next */
export function printCampaign(
  record: CampaignRecord,
  steps: readonly string[],
  options: { readonly json?: true; readonly plain?: true },
): void {
  if (options.json) process.stdout.write(writeRecord(record));
  else process.stdout.write(campaignText(record, steps, terminalStyle(process.env, process.stdout, options.plain)));
}

/**
 * What a campaign says, for a person. What was found and what to do next stands last, where a terminal shows it.
 * @param steps sentences on what was stored and what to type next
 */
export function campaignText(record: CampaignRecord, steps: readonly string[], style: TerminalStyle): string {
  const { columns } = style;
  const say = (text: string) => wrapText(text, columns, 2);
  const blocks = [
    headline(record, columns),
    requirementLines(record, columns),
    qualityLines(record, columns),
    goalLines(record, columns),
    finishedLines(record, columns),
    rangeLines(record.campaign.ranges, columns),
    say(
      'This says what was tried, within these ranges, on this model of arc, sheet and table. It says nothing about what ' +
        'lies outside them, nor about the wiring of your box.',
    ),
    [foundText(record), ...steps].flatMap(say),
  ];
  const text = `${blocks
    .filter((block) => block.length > 0)
    .map((block) => block.join('\n'))
    .join('\n\n')}\n`;
  return style.unicode ? text : asciiText(text);
}

function foundText({ tally, runs }: CampaignRecord): string {
  const broken = brokenIn(tally);
  const nearest = nearestBound(tally);
  const cuts = tally.cases === runs ? counted(runs, 'cut') : `${tally.cases} of ${runs} cuts`;
  const found =
    broken.length > 0
      ? `${counted(broken.length, 'REQUIREMENT', 'REQUIREMENTS')} BROKEN in ${cuts}: ${broken.join(', ')}.`
      : `in ${cuts} no requirement was broken.`;
  const least = nearest
    ? ` Nearest to a bound of Z: ${nearest[0]}, ${Number(nearest[1].worst_margin!.toPrecision(3))} mm left, in cut ${nearest[1].worst_case}.`
    : '';
  return `Found: ${found}${least}`;
}

function headline(record: CampaignRecord, columns: number): string[] {
  const { tally, runs, part, covered, campaign, module_sha256, simulator_sha256 } = record;
  const gaps = missingSpans(part, covered);
  const { finished, stopped } = tally.ended;
  return [
    ...wrapText(
      `${counted(tally.cases, 'cut')} tried (seed ${campaign.seed}, ${clockText(tally.ticks / 1000)} of cutting).`,
      columns,
    ),
    ...(gaps.length > 0 ? wrapText(`Of ${runs} cuts these were not tried: ${spanText(gaps)}.`, columns) : []),
    ...wrapText(
      `${counted(finished, 'cut')} finished, ${stopped} stopped${stopped > 0 ? `: ${stopsText(tally)}` : ''}.`,
      columns,
      2,
    ),
    ...wrapText(`control module ${module_sha256.slice(0, 16)}, simulator ${simulator_sha256.slice(0, 16)}`, columns),
  ];
}

/** Who stopped how many cuts: `by the box arc-lost 3, no-arc 1; by the operator key 2`. */
function stopsText({ stops }: CampaignRecord['tally']): string {
  const list = Object.entries(stops).sort(([a, a_cuts], [b, b_cuts]) => b_cuts - a_cuts || (a < b ? -1 : 1));
  return STOPPERS.flatMap((by) => {
    const causes = list.filter(([key]) => key.startsWith(`${by} `));
    if (causes.length === 0) return [];
    return [`by ${STOPPER_WORDS[by]} ${causes.map(([key, cuts]) => `${key.slice(by.length + 1)} ${cuts}`).join(', ')}`];
  }).join('; ');
}

const spanText = (spans: readonly (readonly [number, number])[]) =>
  spans
    .slice(0, 5)
    .map(([from, to]) => `${from} to ${to - 1}`)
    .join(', ') + (spans.length > 5 ? ', …' : '');

/** Broken requirements first, then those with a distance, the nearest first; then those that say never. */
const order = ([name, requirement]: Named, [other_name, other]: Named): number =>
  other.broken - requirement.broken ||
  (requirement.worst_margin || 1e9) - (other.worst_margin || 1e9) ||
  (name < other_name ? -1 : 1);
type Named = readonly [name: string, requirement: RequirementTally];

function requirementLines({ tally }: CampaignRecord, columns: number): string[] {
  const requirements = Object.entries(tally.requirements).sort(order);
  const tested = requirements.filter(([, requirement]) => requirement.tested > 0);
  const rows = tested.map(([name, requirement]) => [
    name,
    String(requirement.tested),
    requirement.broken === 0 ? '0' : `${requirement.broken} !`,
    marginText(requirement),
    String(requirement.worst_case),
    requirement.broken > 0 ? '' : `< ${percent(chanceBound(requirement.tested))}`,
  ]);
  const head = ['requirement', 'tested', 'broken', 'least margin', 'in cut', 'chance, 95 %'];
  const sides = ['left', 'right', 'right', 'right', 'right', 'right'] as const;
  const narrower = () => {
    const some = (cells: readonly string[]) => cells.slice(0, 5);
    return tableLines(some(head), rows.map(some), sides.slice(0, 5), columns);
  };
  const narrow = () =>
    tested.flatMap(([name, requirement]) => wrapText(`${name}: ${narrowText(requirement)}`, columns, 2));
  const wide = tableLines(head, rows, sides, columns);
  const untested = requirements.filter(([, requirement]) => requirement.tested === 0).map(([name]) => name);
  const beyond = requirements.reduce((sum, [, requirement]) => sum + requirement.beyond, 0);
  const most = Math.max(
    0,
    ...tested.filter(([, requirement]) => requirement.broken === 0).map(([, requirement]) => requirement.tested),
  );
  return [
    ...(wide ?? narrower() ?? narrow()),
    ...(wide || most === 0
      ? []
      : wrapText(
          `A requirement that was kept in all n cuts that tested it is broken in fewer than 3/n of such cuts, with 95 % ` +
            `confidence: for n = ${most} below ${percent(chanceBound(most))}.`,
          columns,
          2,
        )),
    ...requirements
      .filter(([, requirement]) => requirement.broken > 0)
      .flatMap(([name, requirement]) =>
        wrapText(`BROKEN: ${name}: ${requirement.statement}; first in cut ${requirement.first_broken}.`, columns, 2),
      ),
    ...(untested.length > 0 ? wrapText(`Never put to the test: ${untested.join(', ')}.`, columns, 2) : []),
    ...(beyond > 0
      ? wrapText(
          `${counted(beyond, 'cut')} ended in contact although no box could have kept it: the axis failed, a hand fired the ` +
            'torch, the hold input told the box to leave Z alone, or the sheet rose faster than the motor climbs. Not counted ' +
            `as broken. In ${counted(tally.excused, 'cut')} contact would not have counted.`,
          columns,
          2,
        )
      : []),
    ...wrapText('A margin of 0 belongs to a requirement that says never: there is no distance to it.', columns, 2),
  ];
}

const marginText = ({ worst_margin, unit }: Pick<RequirementTally, 'worst_margin' | 'unit'>) =>
  worst_margin === null
    ? ''
    : worst_margin > 0 && worst_margin < 0.0005
      ? `< 0.001 ${unit}`
      : `${Number(worst_margin.toPrecision(3))} ${unit}`;

const narrowText = (requirement: RequirementTally) =>
  [
    requirement.broken === 0 ? 'kept' : `BROKEN in ${requirement.broken}`,
    `of ${requirement.tested}`,
    `least margin ${marginText(requirement)} in cut ${requirement.worst_case}`,
  ].join(', ');

const percent = (share: number) => `${Number((100 * share).toPrecision(2))} %`;

const FIGURE_WORDS: Readonly<Record<QualityFigure, string>> = {
  standoff_error_mean_mm: 'mean of a cut, - is too low',
  standoff_error_rms_mm: 'rms of a cut',
  corner_dive_mm: 'dive at a corner',
  kerf_crossing_dive_mm: 'dive at a kerf crossing',
};

/** How the standoff error of the cuts is spread. */
function qualityLines({ tally }: CampaignRecord, columns: number): string[] {
  const { figures } = tally.quality;
  const spread = QUALITY_FIGURES.filter((name) => figures[name].cuts > 0);
  if (spread.length === 0) return [];
  const rows = spread.map((name) => {
    const figure = figures[name];
    const at = (share: number) => quantileOf(figure, share)!.toFixed(2);
    return [
      FIGURE_WORDS[name],
      String(figure.cuts),
      at(0.5),
      at(0.95),
      figure.worst_mm!.toFixed(2),
      String(figure.worst_case),
    ];
  });
  const head = ['true standoff error, mm', 'cuts', 'median', '95 %', 'worst', 'in cut'];
  const sides = ['left', 'right', 'right', 'right', 'right', 'right'] as const;
  const narrow = () =>
    rows.flatMap(([name, cuts, median, p95, worst, index]) =>
      wrapText(`${name}, ${cuts} cuts: median ${median}, 95 % ${p95}, worst ${worst} mm in cut ${index}`, columns, 2),
    );
  return [
    ...wrapText('In cuts without a fault and without an operator’s action:', columns),
    ...(tableLines(head, rows, sides, columns) ?? narrow()),
  ];
}

/** Quality goals that some cut missed; the others are counted. */
function goalLines({ tally }: CampaignRecord, columns: number): string[] {
  const goals = Object.entries(tally.quality.goals).sort(([a], [b]) => (a < b ? -1 : 1));
  const missed = goals.filter(([, goal]) => goal.missed > 0);
  if (goals.length === 0) return [];
  const rows = missed.map(([name, goal]) => [
    name,
    String(goal.tested),
    String(goal.missed),
    marginText(goal),
    String(goal.worst_case),
  ]);
  const head = ['quality goal', 'tested', 'missed', 'least margin', 'in cut'];
  const table = tableLines(head, rows, ['left', 'right', 'right', 'right', 'right'], columns);
  const narrow = () =>
    rows.flatMap(([name, tested, count, margin, index]) =>
      wrapText(`${name}: missed in ${count} of ${tested}, least margin ${margin} in cut ${index}`, columns, 2),
    );
  const others = goals.length - missed.length;
  return [
    ...(missed.length > 0 ? (table ?? narrow()) : []),
    ...wrapText(
      missed.length > 0
        ? `${counted(others, 'other quality goal')} ${others === 1 ? 'was' : 'were'} missed in no cut. A missed goal breaks nothing.`
        : `No quality goal was missed: ${goals.map(([name]) => name).join(', ')}.`,
      columns,
      2,
    ),
  ];
}

/** Sound cuts that did not finish, and the strikes that the box refused, by what makes an arc hard to prove. */
function finishedLines({ tally }: CampaignRecord, columns: number): string[] {
  const { cuts, unfinished, refused } = finishedTotal(tally.finished);
  if (unfinished === 0) return [];
  const { noises, rows } = finishedTable(tally.finished);
  const head = ['refused, by slope in V/mm', ...noises.map((noise) => `noise ${noise} V`)];
  const narrow = () => rows.flatMap((row) => wrapText(row.join(', '), columns, 2));
  return [
    ...wrapText(
      `Of ${counted(cuts, 'cut')} without a fault and without an operator's action ${unfinished} did not come to their end: in ` +
        `${refused} the box refused the strike, in the others it stopped the cut.`,
      columns,
      2,
    ),
    ...(refused > 0 ? (tableLines(head, rows, ['left', 'right', 'right', 'right'], columns) ?? narrow()) : []),
  ];
}

function rangeLines(ranges: Ranges, columns: number): string[] {
  const numbers = ranges.numbers.map(({ path, low, high, unit, share_of, either }) => {
    const of = share_of === undefined ? unit : 'times what the world has';
    const bounds = low === high ? low : `${low} ${either ? 'or' : 'to'} ${high}`;
    return `${path.replace(/^world\./, '')} ${bounds} ${of}`.trimEnd();
  });
  const share = (chance: number) => `${Math.round(chance * 100)} %`;
  return [
    ...wrapText(`Ranges: ${numbers.join('; ')}.`, columns, 2),
    ...wrapText(
      `One of ${ranges.faults.length} kinds of fault in ${share(ranges.fault_chance)} of the cuts, at any moment; an ` +
        `operator who turns key, request, stop chain, hold or reset at any moment in ${share(ranges.operator_chance)}.`,
      columns,
      2,
    ),
  ];
}
