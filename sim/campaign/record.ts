import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { StandoffError } from '../base/index.js';
import type { Campaign } from './case-runner.js';
import { BOUNDS } from './cell.js';
import type { RequirementTally, Tally } from './tally.js';

/** Folders whose code decides what a case gives. */
const FOLDERS = ['base', 'world', 'run', 'judge', 'campaign'];

/** Folder of the compiled host, also when the sources run directly. */
export function compiledFolder(): string {
  const here = fileURLToPath(new URL('..', import.meta.url));
  return existsSync(`${here}campaign/worker.js`) ? here : fileURLToPath(new URL('../../dist/sim/', import.meta.url));
}

/** SHA-256 over the compiled simulator: results of two builds are not added up. */
export function simulatorHash(): string {
  const folder = compiledFolder();
  const hash = createHash('sha256');
  for (const part of FOLDERS) {
    const names = readdirSync(`${folder}${part}`, { recursive: true, encoding: 'utf8' });
    for (const name of names.filter((each) => each.endsWith('.js')).sort()) {
      hash.update(`${part}/${name}\n`).update(readFileSync(`${folder}${part}/${name}`));
    }
  }
  return hash.digest('hex');
}

export const CAMPAIGN_FORMAT = 'standoff campaign 3';

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
  /** Cases that were to be run here: all of them, or those of one shard. */
  readonly part: Span;
  /** What of them is covered: apart from each other, in order. */
  readonly covered: readonly Span[];
  readonly campaign: Campaign;
  readonly tally: Tally;
}

/** Covered spans, none of which overlap, in order; neighbours joined. */
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

/** As text: one form for one result, whatever the order in which its parts came in. */
export function writeRecord(record: CampaignRecord): string {
  const { tally } = record;
  const faults = Object.fromEntries(Object.entries(tally.faults).sort(([a], [b]) => (a < b ? -1 : 1)));
  const requirements = Object.fromEntries(Object.entries(tally.requirements).sort(([a], [b]) => (a < b ? -1 : 1)));
  return `${JSON.stringify({ ...record, tally: { ...tally, faults, requirements } }, null, 1)}\n`;
}

const count = z.number().int().min(0);
const span = z.tuple([count, count]);
const requirementSchema = z.strictObject({
  statement: z.string(),
  unit: z.string(),
  tested: count,
  broken: count,
  beyond: count,
  worst_margin: z.number().nullable(),
  worst_case: count.nullable(),
  first_broken: count.nullable(),
});

/** What a result must have. Setup and ranges were checked when the campaign began; here only that they are there. */
const recordSchema = z.strictObject({
  format: z.literal(CAMPAIGN_FORMAT),
  module_sha256: z.string(),
  simulator_sha256: z.string(),
  runs: count.min(1),
  part: span,
  covered: z.array(span),
  campaign: z.looseObject({
    setup: z.looseObject({}),
    ranges: z.looseObject({}),
    programs: z.array(z.strictObject({ name: z.string(), text: z.string() })).min(1),
    seed: count,
  }),
  tally: z.strictObject({
    cases: count,
    ticks: count,
    ended: z.strictObject({ finished: count, stopped: count, limit: count }),
    faults: z.record(z.string(), count),
    requirements: z.record(z.string(), requirementSchema),
  }),
});

const RUN_AGAIN =
  'run that shard or campaign again under another name, or copy the file again from where it was written';

/** @throws StandoffError `campaign-format`, `campaign-version`, `campaign-damaged` */
export function readRecord(text: string, file: string): CampaignRecord {
  let record: unknown;
  try {
    record = JSON.parse(text);
  } catch {
    // What begins like a result was one: its end is missing.
    if (text.startsWith('{\n "format": "standoff campaign ')) throw damaged(file, 'it breaks off or is garbled');
    throw new StandoffError(
      'campaign-format',
      `${file} is no result of standoff fuzz`,
      'name a file that standoff fuzz --out wrote',
    );
  }
  const format = (record as { format?: unknown } | null)?.format;
  if (typeof format !== 'string' || !format.startsWith('standoff campaign ')) {
    throw new StandoffError(
      'campaign-format',
      `${file} is no result of standoff fuzz`,
      'name a file that standoff fuzz --out wrote',
    );
  }
  if (format !== CAMPAIGN_FORMAT) {
    const what = `${file} has the format ${format}; this Standoff reads ${CAMPAIGN_FORMAT}`;
    throw new StandoffError('campaign-version', what, 'use the Standoff that wrote it, or run the campaign again');
  }
  const checked = recordSchema.safeParse(record);
  if (!checked.success) {
    const [issue] = checked.error.issues;
    throw damaged(file, `${issue!.path.join('.') || 'it'} is not what belongs there`);
  }
  if (!countsUp(record as CampaignRecord)) throw damaged(file, 'its numbers of cuts do not agree');
  return record as CampaignRecord;
}

const damaged = (file: string, why: string) =>
  new StandoffError('campaign-damaged', `${file} is damaged: ${why}`, RUN_AGAIN);

/** Spans in order, within the part, and as many cases as were counted. */
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
