import { createHash } from 'node:crypto';
import { readFileSync, renameSync } from 'node:fs';
import { Piscina } from 'piscina';
import { StandoffError } from '../base/index.js';
import { packageFile } from '../base/package/files.js';
import { loadControlModule } from '../run/controller/index.js';
import { openOutput } from '../run/trace/index.js';
import { loadWorldModule } from '../world/cells/index.js';
import { type Campaign, ownRequirements } from './case-runner.js';
import {
  CAMPAIGN_FORMAT,
  type CampaignRecord,
  differences,
  type Identity,
  joinSpans,
  missingSpans,
  type Span,
  writeRecord,
} from './record.js';
import type { SearchOptions, SearchResult } from './search.js';
import { addTally, emptyTally, type Tally } from './tally.js';

const workerFile = (): string => packageFile('dist/sim/campaign/worker.js');

/** Threads that take tasks. */
export interface WorkerPool<Task, Result> {
  /** @throws AbortError once the signal has come */
  readonly run: (task: Task, signal?: AbortSignal) => Promise<Result>;
  readonly end: () => Promise<void>;
}

/** Threads that run tasks in the built simulator: what ships is what is tried. End it with `destroy()`. */
export function workerPool<Task, Result>(workers: number): WorkerPool<Task, Result> {
  const pool = new Piscina<Task, Result>({ filename: workerFile(), minThreads: workers, maxThreads: workers });
  return { run: (task, signal) => pool.run(task, { signal: signal ?? null }), end: () => pool.destroy() };
}

/**
 * SHA-256 of the worker and the world module as built, and of requirements of somebody's own: results of two builds are not
 * added up. The worker names what it imports by the hash of its contents, and so on, so its own bytes stand for all that
 * decides what a case comes to on the host.
 */
function simulatorHash(requirements_file?: string): string {
  const hash = createHash('sha256').update(readFileSync(workerFile())).update(loadWorldModule().sha256);
  if (requirements_file !== undefined) hash.update(readFileSync(requirements_file));
  return hash.digest('hex');
}

/** A result is kept this often, so that a power cut or a kill without warning costs no more. */
const KEEP_MS = 10_000;

/** The file that holds a campaign while it runs. A part file takes each write first, so that none is left half written. */
export class CampaignFile {
  private kept_ms = Number.NEGATIVE_INFINITY;
  private readonly part_file: string;

  /** @throws StandoffError `file-unwritable` */
  constructor(private readonly path: string) {
    this.part_file = `${path}.part`;
    openOutput(this.part_file, true).close();
  }

  /** Writes when the last time is some seconds ago; the first time at once. */
  keep(record: CampaignRecord): void {
    if (performance.now() - this.kept_ms < KEEP_MS) return;
    this.write(record);
    this.kept_ms = performance.now();
  }

  write(record: CampaignRecord): void {
    const output = openOutput(this.part_file, true);
    output.write(Buffer.from(writeRecord(record)));
    output.close();
    renameSync(this.part_file, this.path);
  }
}

/**
 * A campaign that is resumed must be the one that was begun: same cuts, same part, same build.
 * @param file that holds `before`, for messages
 * @throws StandoffError `resume-changed`, `campaign-mixed`
 */
export function refuseOtherCampaign(
  file: string,
  before: CampaignRecord,
  wanted: Pick<CampaignRecord, 'module_sha256' | 'simulator_sha256' | 'runs' | 'campaign' | 'part'>,
): void {
  const build = { module_sha256: before.module_sha256, simulator_sha256: before.simulator_sha256 };
  const other = differences({ ...wanted, ...build }, before);
  if (other.length === 0 && String(wanted.part) !== String(before.part)) {
    other.push(`the shard (${partText(wanted.part)} and ${partText(before.part)})`);
  }
  if (other.length > 0) {
    const what = `${file} cannot be resumed: this command and the file differ in ${other.join(' and ')}`;
    throw new StandoffError('resume-changed', what, 'give the command that began it, or another name to --out');
  }
  if (differences(wanted, before).length === 0) return;
  const what = `${file} cannot be resumed: it was begun with another build of Standoff`;
  const remedy = 'resume it with that build, or begin again with --force instead of --resume';
  throw new StandoffError('campaign-mixed', what, remedy);
}

const partText = ([from, to]: Span): string => (to > from ? `cuts ${from} to ${to - 1}` : 'no cuts');

/** Cases `from` (inclusive) to `to` (exclusive) of a campaign, for one thread. */
export interface SpanTask {
  readonly campaign: Campaign;
  readonly from: number;
  readonly to: number;
}

/** A search among the cases of a campaign, for one thread. */
export interface SearchTask {
  readonly campaign: Campaign;
  readonly search: SearchOptions;
}

/** What `runCampaign` is to run, and how. */
export interface CampaignOptions {
  readonly campaign: Campaign;
  /** Cases of the whole campaign, and the part of it to run here. */
  readonly runs: number;
  readonly span: Span;
  /** Threads. */
  readonly workers: number;
  /** To resume from: a result of the same campaign, part and build. */
  readonly before?: CampaignRecord;
  /** Stops at once; the chunks under way are dropped, to be run when it is resumed. */
  readonly signal?: AbortSignal;
  /** After every chunk. */
  readonly onProgress?: (record: CampaignRecord) => void;
}

/** Cases per chunk: some tenths of a second of work, so that Ctrl-C and progress are prompt. */
const CHUNK = 32;

/**
 * Runs the cases of `span` that are not covered yet, on several threads. The result depends on the campaign alone,
 * neither on the number of workers nor on the order in which they finish.
 * @throws StandoffError `module-missing`, `campaign-requirements`
 */
export async function runCampaign(options: CampaignOptions): Promise<CampaignRecord> {
  const { campaign, runs, span, workers, before, signal, onProgress } = options;
  await ownRequirements(campaign);
  const tally: Tally = emptyTally();
  if (before) addTally(tally, before.tally);
  let covered: Span[] = [...(before?.covered ?? [])];
  const identity = campaignIdentity(campaign, runs);
  const record = (): CampaignRecord => {
    return { format: CAMPAIGN_FORMAT, ...identity, part: span, covered, tally: structuredClone(tally) };
  };

  const chunks = missingSpans(span, covered).flatMap(chunksOf);
  const pool = workerPool<SpanTask, Tally>(workers);
  let next = 0;
  const serve = async () => {
    while (next < chunks.length && !signal?.aborted) {
      const [from, to] = chunks[next++];
      const part = await pool.run({ campaign, from, to }, signal);
      addTally(tally, part);
      covered = joinSpans([...covered, [from, to]]);
      onProgress?.(record());
    }
  };
  try {
    await Promise.all(Array.from({ length: workers }, serve));
  } catch (error) {
    if (!signal?.aborted) throw error;
  } finally {
    await pool.end();
  }
  return record();
}

/** Which campaign this is, as this build runs it. */
export function campaignIdentity(campaign: Campaign, runs: number): Identity {
  return {
    module_sha256: loadControlModule(campaign.module_file).sha256,
    simulator_sha256: simulatorHash(campaign.requirements_file),
    runs,
    campaign,
  };
}

/** Searches per requirement; a fixed number, so that the result does not depend on the number of threads. */
const SEARCHES = 4;

/**
 * Searches for cuts that break a requirement, several times from different starts. @param cuts at most, for each of
 * them
 */
export async function runSearches(campaign: Campaign, requirements: readonly string[], cuts: number, workers: number) {
  const pool = workerPool<SearchTask, SearchResult>(workers);
  try {
    const tasks = requirements.flatMap((requirement) =>
      Array.from({ length: SEARCHES }, (_, at) => ({
        campaign,
        search: { requirement, cuts: Math.ceil(cuts / SEARCHES), seed: campaign.seed * SEARCHES + at },
      })),
    );
    return await Promise.all(tasks.map((task) => pool.run(task)));
  } finally {
    await pool.end();
  }
}

function chunksOf([from, to]: Span): Span[] {
  const chunks: Span[] = [];
  for (let at = from; at < to; at += CHUNK) chunks.push([at, Math.min(to, at + CHUNK)]);
  return chunks;
}
