import { z } from 'zod';
import { StandoffError } from '../base/index.js';
import type { Campaign } from './case-runner.js';
import { sortedQuality } from './quality.js';
import { addTally, BOUNDS, emptyTally, type RequirementTally, type Tally, tallySchema } from './tally.js';

export const CAMPAIGN_FORMAT = 'standoff campaign 6';

/** Cases from (inclusive) to (exclusive). */
export type Span = readonly [from: number, to: number];

const count = z.number().int().min(0);
const span = z.tuple([count, count]).readonly();

/** The form of a result. Setup and ranges were checked when the campaign began; here only that they exist. */
const recordSchema = z.strictObject({
  format: z.literal(CAMPAIGN_FORMAT),
  /** SHA-256 of the control module, and of the simulator that ran it. */
  module_sha256: z.string(),
  simulator_sha256: z.string(),
  /** Cases of the whole campaign. */
  runs: count.min(1),
  /** Cases to be run here: all of them, or those of one shard. */
  part: span,
  /** Those that are done: spans that do not touch, in order. */
  covered: z.array(span).readonly(),
  campaign: z.looseObject({
    setup: z.looseObject({}),
    ranges: z.looseObject({}),
    programs: z.array(z.strictObject({ name: z.string(), text: z.string() })),
    seed: count,
  }) as z.ZodType<unknown> as z.ZodType<Campaign>,
  tally: tallySchema,
});

/** The result of a campaign, whole, broken off, or one shard of it; it says what it covers. */
export type CampaignRecord = Readonly<z.infer<typeof recordSchema>>;

/** Spans that do not overlap, in order, with neighbours joined. */
export function joinSpans(spans: readonly Span[]): Span[] {
  const joined: [number, number][] = [];
  for (const [from, to] of [...spans].sort(([a], [b]) => a - b)) {
    const last = joined.at(-1);
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
  if (from < wanted[1]) missing.push([from, wanted[1]]);
  return missing;
}

/** The cases of shard `index` (from 1) of `count`; none when there are more shards than cases. */
export function shardSpan(runs: number, index: number, count: number): Span {
  return [Math.floor((runs * (index - 1)) / count), Math.floor((runs * index) / count)];
}

/** As text: the same result gives the same text, in whatever order its parts came in. */
export function writeRecord(record: CampaignRecord): string {
  const { tally } = record;
  const faults = byName(tally.faults);
  const stops = byName(tally.stops);
  const requirements = byName(tally.requirements);
  const finished = byName(tally.finished);
  const quality = sortedQuality(tally.quality);
  return `${JSON.stringify({ ...record, tally: { ...tally, faults, stops, requirements, finished, quality } }, null, 1)}\n`;
}

const byName = <Value>(record: Readonly<Record<string, Value>>): Record<string, Value> =>
  Object.fromEntries(Object.entries(record).sort(([a], [b]) => (a < b ? -1 : 1)));

const RUN_AGAIN =
  'run that shard or campaign again under another name, or copy the file once more from where it was written';

/** @throws StandoffError `campaign-format`, `campaign-version`, `campaign-damaged` */
export function readRecord(text: string, file: string): CampaignRecord {
  let record: unknown;
  try {
    record = JSON.parse(text);
  } catch {
    // What begins like a result was one: its end is missing or garbled.
    if (text.startsWith('{\n "format": "standoff campaign ')) throw damaged(file, 'it breaks off or is garbled');
    throw noResult(file);
  }
  const format = (record as { format?: unknown } | null)?.format;
  if (typeof format !== 'string' || !format.startsWith('standoff campaign ')) {
    throw noResult(file);
  }
  if (format !== CAMPAIGN_FORMAT) {
    const what = `${file} has the format ${format}; this Standoff reads ${CAMPAIGN_FORMAT}`;
    throw new StandoffError('campaign-version', what, 'use the Standoff that wrote it, or run the campaign again');
  }
  const checked = recordSchema.safeParse(record);
  if (!checked.success) {
    const [issue] = checked.error.issues;
    throw damaged(file, `${issue.path.join('.') || 'it'} is not what belongs there`);
  }
  if (!countsUp(record as CampaignRecord)) throw damaged(file, 'its numbers of cuts do not agree');
  return record as CampaignRecord;
}

const noResult = (file: string) =>
  new StandoffError(
    'campaign-format',
    `${file} is no result of standoff fuzz`,
    'name a file that standoff fuzz --out wrote',
  );

const damaged = (file: string, why: string) =>
  new StandoffError('campaign-damaged', `${file} is damaged: ${why}`, RUN_AGAIN);

/** Spans in order, within the part, with as many cases as were counted. */
function countsUp({ runs, part, covered, tally }: CampaignRecord): boolean {
  let from = part[0];
  let cases = 0;
  for (const [start, end] of covered) {
    if (start < from || end <= start) return false;
    from = end;
    cases += end - start;
  }
  return part[0] <= part[1] && from <= part[1] && part[1] <= runs && cases === tally.cases;
}

/** A result and the file it came from. */
interface NamedRecord {
  readonly file: string;
  readonly record: CampaignRecord;
}

/** The parts of a result that say which campaign it belongs to. */
export type Identity = Pick<CampaignRecord, 'module_sha256' | 'simulator_sha256' | 'runs' | 'campaign'>;

/**
 * Joins shards into what one run would have given.
 * @throws StandoffError `campaign-mixed`, `campaign-overlap`, `campaign-unfinished`, `campaign-gap`
 */
export function mergeRecords(records: readonly NamedRecord[]): CampaignRecord {
  const [first, ...others] = records;
  if (first === undefined)
    throw new StandoffError('campaign-none', 'no file was given', 'name the files of the shards');
  for (const other of others) refuseMixed(first, other);
  refuseOverlap(records);
  for (const one of records) refuseUnfinished(one);
  const { runs } = first.record;
  const covered = joinSpans(records.flatMap(({ record }) => record.covered));
  const gaps = missingSpans([0, runs], covered);
  if (gaps.length > 0) {
    const what = `${spansText(gaps)} of ${runs} are in none of the files`;
    throw new StandoffError('campaign-gap', what, 'name the files of all shards, or run those that are missing');
  }
  const tally = emptyTally();
  for (const { record } of records) addTally(tally, record.tally);
  return { ...first.record, part: [0, runs], covered, tally };
}

/** In words, how two results differ; empty when they belong to one campaign and were run by one build. */
export function differences(one: Identity, other: Identity): string[] {
  const list: string[] = [];
  if (one.module_sha256 !== other.module_sha256) list.push('the control module');
  if (one.simulator_sha256 !== other.simulator_sha256) list.push('the build of Standoff');
  if (one.runs !== other.runs) list.push(`the number of cuts (${one.runs} and ${other.runs})`);
  const [a, b] = [one.campaign, other.campaign];
  if (a.seed !== b.seed) list.push(`the seed (${a.seed} and ${b.seed})`);
  const differ = (name: 'setup' | 'ranges' | 'programs') => JSON.stringify(a[name]) !== JSON.stringify(b[name]);
  // Ranges lie around the setup: another setup brings other ranges.
  if (differ('setup')) list.push('the setup');
  else if (differ('ranges')) list.push('the ranges');
  if (differ('programs')) list.push('the programs');
  return list;
}

function refuseMixed(one: NamedRecord, other: NamedRecord): void {
  const list = differences(one.record, other.record);
  if (list.length === 0) return;
  const what = `${one.file} and ${other.file} do not belong together: they differ in ${list.join(' and ')}`;
  throw new StandoffError('campaign-mixed', what, 'join only shards of one campaign, run by one build of Standoff');
}

function refuseOverlap(records: readonly NamedRecord[]): void {
  const parts = records
    .flatMap(({ file, record }) => record.covered.map((span) => ({ file, span })))
    .sort((a, b) => a.span[0] - b.span[0]);
  for (const [at, { file, span }] of parts.entries()) {
    const next = parts[at + 1];
    if (next === undefined || next.span[0] >= span[1]) continue;
    const common = spansText([[next.span[0], Math.min(span[1], next.span[1])]]);
    const what =
      next.file === file ? `${file} was named twice` : `${common} are in ${file} and in ${next.file} as well`;
    throw new StandoffError(
      'campaign-overlap',
      what,
      'name each shard once; delete copies and shards of another division',
    );
  }
}

function refuseUnfinished({ file, record }: NamedRecord): void {
  const missing = missingSpans(record.part, record.covered);
  if (missing.length === 0) return;
  const what = `${file} was broken off: ${spansText(missing)} are missing`;
  throw new StandoffError('campaign-unfinished', what, `finish it first: standoff fuzz --out ${file} --resume`);
}

const spansText = (spans: readonly Span[]): string =>
  `cuts ${spans.map(([from, to]) => (to - from === 1 ? `${from}` : `${from} to ${to - 1}`)).join(', ')}`;

/** Names of the requirements that some cut broke. */
export const brokenIn = ({ requirements }: Tally): string[] =>
  Object.entries(requirements)
    .filter(([, { broken }]) => broken > 0)
    .map(([name]) => name);

/** The requirement on where Z may be that came nearest to its bound without breaking; undefined when there is none. */
export const nearestBound = ({ requirements }: Tally): readonly [name: string, tally: RequirementTally] | undefined =>
  Object.entries(requirements)
    .filter(([name, { broken, worst_margin }]) => BOUNDS.includes(name) && broken === 0 && worst_margin !== null)
    .sort(([, a], [, b]) => a.worst_margin! - b.worst_margin!)[0];
