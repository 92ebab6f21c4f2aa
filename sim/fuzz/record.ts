import { StandoffError } from '../base/index.js';
import type { Campaign } from './case-runner.js';
import { addTally, emptyTally, type Tally } from './tally.js';

export const CAMPAIGN_FORMAT = 'standoff campaign 1';

/** Cases from (inclusive) to (exclusive). */
export type Span = readonly [from: number, to: number];

/** The result of a campaign, whole, broken off, or one shard of it: it says itself what it covers. */
export interface CampaignRecord {
  readonly format: typeof CAMPAIGN_FORMAT;
  /** SHA-256 of the control module, and of the simulator that ran it. */
  readonly module_sha256: string;
  readonly simulator_sha256: string;
  /** Cases of the whole campaign. */
  readonly runs: number;
  /** What is covered here: apart from each other, in order. */
  readonly covered: readonly Span[];
  readonly campaign: Campaign;
  readonly tally: Tally;
}

/** Covered spans in order, neighbours joined. @throws StandoffError `campaign-overlap` */
export function joinSpans(spans: readonly Span[]): Span[] {
  const joined: [number, number][] = [];
  for (const [from, to] of [...spans].sort(([a], [b]) => a - b)) {
    const last = joined.at(-1);
    if (last !== undefined && from < last[1]) {
      const what = `cases ${from} to ${Math.min(to, last[1]) - 1} are in two of the files`;
      throw new StandoffError('campaign-overlap', what, 'give each shard once');
    }
    if (last !== undefined && from === last[1]) last[1] = to;
    else joined.push([from, to]);
  }
  return joined;
}

/** What of `wanted` is not covered. */
export function missingSpans(wanted: Span, covered: readonly Span[]): Span[] {
  const missing: Span[] = [];
  let from = wanted[0];
  for (const [start, end] of covered) {
    if (start > from) missing.push([from, Math.min(start, wanted[1])]);
    from = Math.max(from, end);
    if (from >= wanted[1]) return missing;
  }
  missing.push([from, wanted[1]]);
  return missing;
}

/** The cases of shard `index` (from 1) of `count`. */
export function shardSpan(runs: number, index: number, count: number): Span {
  return [Math.floor((runs * (index - 1)) / count), Math.floor((runs * index) / count)];
}

/**
 * Joins shards into what one run would have given.
 * @throws StandoffError `campaign-mixed`, `campaign-overlap`, `campaign-gap`
 */
export function mergeRecords(records: readonly { readonly file: string; readonly record: CampaignRecord }[]) {
  const [first, ...others] = records;
  if (first === undefined)
    throw new StandoffError('campaign-none', 'no file was given', 'name the files of the shards');
  for (const other of others) refuseMixed(first, other);
  const covered = joinSpans(records.flatMap(({ record }) => record.covered));
  const gaps = missingSpans([0, first.record.runs], covered);
  if (gaps.length > 0) {
    const list = gaps.map(([from, to]) => `${from} to ${to - 1}`).join(', ');
    const what = `cases ${list} of ${first.record.runs} are in none of the files`;
    throw new StandoffError('campaign-gap', what, 'run the missing shards, or go on with --resume');
  }
  const tally = emptyTally();
  for (const { record } of [...records].sort((a, b) => a.record.covered[0]![0] - b.record.covered[0]![0])) {
    addTally(tally, record.tally);
  }
  return { ...first.record, covered, tally } satisfies CampaignRecord;
}

type Named = { readonly file: string; readonly record: CampaignRecord };

function refuseMixed(one: Named, other: Named): void {
  const differences: string[] = [];
  if (one.record.module_sha256 !== other.record.module_sha256) differences.push('other control modules');
  if (one.record.simulator_sha256 !== other.record.simulator_sha256) differences.push('other builds of the simulator');
  if (one.record.runs !== other.record.runs) differences.push('other numbers of cases');
  if (one.record.campaign.seed !== other.record.campaign.seed) differences.push('other seeds');
  if (JSON.stringify(one.record.campaign) !== JSON.stringify(other.record.campaign)) {
    differences.push('another setup, other ranges or other programs');
  }
  if (differences.length === 0) return;
  const what = `${one.file} and ${other.file} do not belong together: ${differences.join(', ')}`;
  throw new StandoffError('campaign-mixed', what, 'merge only shards of one campaign, run by one build');
}

/** As text: one form for one result, whatever the order in which its parts came in. */
export function writeRecord(record: CampaignRecord): string {
  const { tally } = record;
  const faults = Object.fromEntries(Object.entries(tally.faults).sort(([a], [b]) => (a < b ? -1 : 1)));
  const laws = Object.fromEntries(Object.entries(tally.laws).sort(([a], [b]) => (a < b ? -1 : 1)));
  return `${JSON.stringify({ ...record, tally: { ...tally, faults, laws } }, null, 1)}\n`;
}

/** @throws StandoffError `campaign-format`, `campaign-version` */
export function readRecord(text: string, file: string): CampaignRecord {
  let record: CampaignRecord;
  try {
    record = JSON.parse(text) as CampaignRecord;
  } catch {
    throw new StandoffError('campaign-format', `${file} is no campaign: it is no JSON`, 'name a file that fuzz wrote');
  }
  const format: unknown = (record as { format?: unknown } | null)?.format;
  if (format === CAMPAIGN_FORMAT) return record;
  if (typeof format === 'string' && format.startsWith('standoff campaign ')) {
    const what = `${file} has the format ${format}; this Standoff reads ${CAMPAIGN_FORMAT}`;
    throw new StandoffError('campaign-version', what, 'use the Standoff that wrote it, or run the campaign again');
  }
  throw new StandoffError('campaign-format', `${file} is no campaign`, 'name a file that fuzz wrote');
}
