import {
  type CampaignRecord,
  chanceBound,
  type LawTally,
  missingSpans,
  type Ranges,
  writeRecord,
} from '../fuzz/index.js';
import { asciiText, type TerminalStyle, terminalStyle } from '../report/index.js';
import { tableLines } from '../report/table.js';
import { clockText, counted, wrapText } from '../report/text.js';

/** Prints what a campaign says, for a person or as JSON. @param stored sentences on the cuts that were stored */
export function printCampaign(
  record: CampaignRecord,
  stored: readonly string[],
  options: { readonly json?: true; readonly plain?: true },
): void {
  if (options.json) process.stdout.write(writeRecord(record));
  else process.stdout.write(campaignText(record, stored, terminalStyle(process.env, process.stdout, options.plain)));
}

export const anyBroken = ({ tally }: CampaignRecord): boolean =>
  Object.values(tally.laws).some((law) => law.broken > 0);

/** What a campaign says, for a person. */
function campaignText(record: CampaignRecord, stored: readonly string[], style: TerminalStyle): string {
  const { columns } = style;
  const blocks = [
    headline(record, columns),
    lawLines(record, columns),
    causes(record, columns),
    rangeLines(record.campaign.ranges, columns),
    stored.flatMap((line) => wrapText(line, columns, 2)),
    wrapText(
      'This says what was tried, within these ranges, on this model of arc, sheet and table. It says nothing about what ' +
        'lies outside them, nor about the wiring of your box.',
      columns,
    ),
  ];
  const text = `${blocks
    .filter((block) => block.length > 0)
    .map((block) => block.join('\n'))
    .join('\n\n')}\n`;
  return style.unicode ? text : asciiText(text);
}

function headline({ tally, runs, part, covered, campaign, module_sha256 }: CampaignRecord, columns: number): string[] {
  const broken = Object.values(tally.laws).filter((law) => law.broken > 0).length;
  const gaps = missingSpans(part, covered);
  const { finished, stopped, limit } = tally.ended;
  const found = broken === 0 ? 'no law was broken' : `${counted(broken, 'LAW', 'LAWS')} BROKEN`;
  return [
    ...wrapText(
      `${tally.cases} cuts tried (seed ${campaign.seed}, ${clockText(tally.ticks / 1000)} of cutting): ${found}.`,
      columns,
    ),
    ...(gaps.length > 0 ? wrapText(`Of ${runs} cuts these were not tried: ${spanText(gaps)}.`, columns) : []),
    ...wrapText(
      `${finished} programs came to their end, ${stopped} were stopped by box, operator or fault, ${limit} had to be broken off.`,
      columns,
    ),
    ...wrapText(`control module ${module_sha256.slice(0, 16)}`, columns),
  ];
}

const spanText = (spans: readonly (readonly [number, number])[]) =>
  spans
    .slice(0, 5)
    .map(([from, to]) => `${from} to ${to - 1}`)
    .join(', ') + (spans.length > 5 ? ', …' : '');

function lawLines({ tally }: CampaignRecord, columns: number): string[] {
  const laws = Object.entries(tally.laws).sort(
    ([, a], [, b]) => b.broken - a.broken || (a.worst_margin ?? 1e9) - (b.worst_margin ?? 1e9),
  );
  const rows = laws.map(([name, law]) => [
    name,
    String(law.tested),
    law.broken === 0 ? '0' : `${law.broken} !`,
    law.tested === 0 || law.broken > 0 ? '' : `< ${percent(chanceBound(law.tested))}`,
    law.worst_margin === null ? '' : `${Number(law.worst_margin.toPrecision(3))} ${law.unit}`,
    law.worst_case === null ? '' : String(law.worst_case),
  ]);
  const head = ['law', 'tested in', 'broken in', 'chance, 95 %', 'least margin', 'in cut'];
  const wide = tableLines(head, rows, ['left', 'right', 'right', 'right', 'right', 'right'], columns);
  const narrow = () => laws.flatMap(([name, law]) => wrapText(`${name}: ${narrowText(law)}`, columns, 2));
  const untested = laws.filter(([, law]) => law.tested === 0).map(([name]) => name);
  const beyond = laws.reduce((sum, [, law]) => sum + law.beyond, 0);
  return [
    ...(wide ?? narrow()),
    ...laws
      .filter(([, law]) => law.broken > 0)
      .flatMap(([name, law]) =>
        wrapText(`BROKEN: ${name}: ${law.statement}; first in cut ${law.first_broken}.`, columns, 2),
      ),
    ...(untested.length > 0 ? wrapText(`Never put to the test: ${untested.join(', ')}.`, columns, 2) : []),
    ...(beyond > 0
      ? wrapText(
          `${counted(beyond, 'cut')} ended in contact although no box could have kept it: the axis failed, a hand fired the ` +
            'torch, or the hold input told the box to leave Z alone. Not counted as broken.',
          columns,
          2,
        )
      : []),
    ...wrapText('A margin of 0 belongs to a law that says never: there is no distance to it.', columns, 2),
  ];
}

const narrowText = (law: LawTally) =>
  [
    law.broken === 0 ? 'kept' : `BROKEN in ${law.broken}`,
    `of ${law.tested}`,
    ...(law.worst_margin === null ? [] : [`least margin ${Number(law.worst_margin.toPrecision(3))} ${law.unit}`]),
  ].join(', ');

const percent = (share: number) => `${Number((100 * share).toPrecision(2))} %`;

function causes({ tally }: CampaignRecord, columns: number): string[] {
  const list = Object.entries(tally.faults).sort(([, a], [, b]) => b - a);
  if (list.length === 0) return [];
  return wrapText(
    `Faults that the box raised: ${list.map(([name, count]) => `${name} ${count}`).join(', ')}.`,
    columns,
    2,
  );
}

function rangeLines(ranges: Ranges, columns: number): string[] {
  const numbers = ranges.numbers.map(({ path, low, high, unit }) =>
    `${path.replace(/^world\./, '')} ${low} to ${high} ${unit}`.trimEnd(),
  );
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
