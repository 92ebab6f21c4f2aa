import { loadControlModule } from '../run/controller/index.js';
import { type Campaign, ownRequirements } from './case-runner.js';
import { simulatorHash, workerPool } from './pool.js';
import type { Identity } from './record.js';
import { CAMPAIGN_FORMAT, type CampaignRecord, joinSpans, missingSpans, type Span } from './record.js';
import type { SearchOptions, SearchResult } from './search.js';
import { addTally, emptyTally, type Tally } from './tally.js';

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
      const part = await pool.run({ campaign, from, to }, { signal: signal ?? null });
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
    await pool.destroy();
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
    await pool.destroy();
  }
}

function chunksOf([from, to]: Span): Span[] {
  const chunks: Span[] = [];
  for (let at = from; at < to; at += CHUNK) chunks.push([at, Math.min(to, at + CHUNK)]);
  return chunks;
}
