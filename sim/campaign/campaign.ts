import { Piscina } from 'piscina';
import { loadControlModule } from '../run/controller/index.js';
import { compiledFolder, simulatorHash } from './build.js';
import { type Campaign, ownRequirements } from './case-runner.js';
import type { Identity } from './merge.js';
import { CAMPAIGN_FORMAT, type CampaignRecord, joinSpans, missingSpans, type Span } from './record.js';
import type { SearchResult } from './search.js';
import { addTally, emptyTally, type Tally } from './tally.js';
import type { SearchTask, WorkerTask } from './worker.js';

/** What `runCampaign` is to run, and how. */
export interface CampaignOptions {
  readonly campaign: Campaign;
  /** Cases of the whole campaign, and the part of it to be run here. */
  readonly runs: number;
  readonly span: Span;
  /** Threads. */
  readonly workers: number;
  /** Goes on from here: a result of the same campaign, part and build. */
  readonly before?: CampaignRecord;
  /** Stops at once; the chunks under way are dropped, to be run another time. */
  readonly signal?: AbortSignal;
  /** After every chunk. */
  readonly onProgress?: (record: CampaignRecord) => void;
}

/** Cases a chunk: some tenths of a second of work, so that Ctrl-C and progress are prompt. */
const CHUNK = 32;

/**
 * Runs the cases of `span` that are not covered yet, on several threads. The result depends on the campaign alone, not on
 * the number of workers nor on the order in which they finish.
 * @throws StandoffError `module-missing`, `campaign-requirements`
 */
export async function runCampaign(options: CampaignOptions): Promise<CampaignRecord> {
  const { campaign, runs, span, workers, before, signal, onProgress } = options;
  await ownRequirements(campaign);
  const tally: Tally = emptyTally();
  if (before) addTally(tally, before.tally);
  let covered: Span[] = [...(before?.covered ?? [])];
  const identity = campaignIdentity(campaign, runs);
  const record = (): CampaignRecord => ({
    format: CAMPAIGN_FORMAT,
    ...identity,
    part: span,
    covered,
    tally: structuredClone(tally),
  });

  const chunks = missingSpans(span, covered).flatMap(chunksOf);
  const pool = new Piscina<WorkerTask, Tally>({
    filename: `${compiledFolder()}campaign/worker.js`,
    minThreads: workers,
    maxThreads: workers,
  });
  let next = 0;
  const serve = async () => {
    while (next < chunks.length && !signal?.aborted) {
      const [from, to] = chunks[next++]!;
      const part = await pool.run({ campaign, from, to });
      addTally(tally, part);
      covered = joinSpans([...covered, [from, to]]);
      onProgress?.(record());
    }
  };
  try {
    await Promise.race([Promise.all(Array.from({ length: workers }, serve)), ...(signal ? [aborted(signal)] : [])]);
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

const aborted = (signal: AbortSignal) =>
  new Promise<void>((resolve) => {
    if (signal.aborted) resolve();
    else signal.addEventListener('abort', () => resolve(), { once: true });
  });

/** Searches that go on side by side; a fixed number, so that the result does not depend on the number of threads. */
const SEARCHES = 4;

/** Searches for cuts that break a requirement, several times from different starts. */
export async function runSearches(campaign: Campaign, requirements: readonly string[], cuts: number, workers: number) {
  const pool = new Piscina<SearchTask, SearchResult>({
    filename: `${compiledFolder()}campaign/worker.js`,
    minThreads: workers,
    maxThreads: workers,
  });
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
