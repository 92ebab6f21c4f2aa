import { StandoffError } from '../base/index.js';
import { type CampaignRecord, joinSpans, missingSpans, type Span } from './record.js';
import { addTally, emptyTally } from './tally.js';

/** A result and the file it came from. */
export interface NamedRecord {
  readonly file: string;
  readonly record: CampaignRecord;
}

/** Of a result, what says which campaign it belongs to. */
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

/** In words, in what two results differ; empty when they belong to one campaign and were run by one build. */
export function differences(one: Identity, other: Identity): string[] {
  const list: string[] = [];
  if (one.module_sha256 !== other.module_sha256) list.push('the control module');
  if (one.simulator_sha256 !== other.simulator_sha256) list.push('the build of Standoff');
  if (one.runs !== other.runs) list.push(`the number of cuts (${one.runs} and ${other.runs})`);
  const [a, b] = [one.campaign, other.campaign];
  if (a.seed !== b.seed) list.push(`the seed (${a.seed} and ${b.seed})`);
  const differ = (name: 'setup' | 'ranges' | 'programs') => JSON.stringify(a[name]) !== JSON.stringify(b[name]);
  // Ranges lie around the setup: another setup brings other ones along.
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
