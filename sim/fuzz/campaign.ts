import { Piscina } from 'piscina';
import { loadControlModule } from '../controller/index.js';
import { compiledFolder, simulatorHash } from './build.js';
import { CAMPAIGN_FORMAT, type CampaignRecord, joinSpans, missingSpans, type Span } from './record.js';
import { addTally, emptyTally, type Tally } from './tally.js';
import type { Campaign, WorkerTask } from './worker.js';

export interface CampaignOptions {
  readonly campaign: Campaign;
  /** Cases of the whole campaign, and the part of it to be run here. */
  readonly runs: number;
  readonly span: Span;
  readonly workers: number;
  /** Goes on from here. */
  readonly before?: CampaignRecord;
  /** Stops after the chunks under way. */
  readonly signal?: AbortSignal;
  /** After every chunk. */
  readonly onProgress?: (record: CampaignRecord) => void;
}

/** Cases a chunk: some tenths of a second of work, so that Ctrl-C and progress are prompt. */
const CHUNK = 32;

/**
 * Runs the cases of `span` that are not covered yet, on several threads. The result depends on the campaign alone, not on
 * the number of workers nor on the order in which they finish.
 */
export async function runCampaign(options: CampaignOptions): Promise<CampaignRecord> {
  const { campaign, runs, span, workers, before, signal, onProgress } = options;
  const tally: Tally = emptyTally();
  if (before) addTally(tally, before.tally);
  let covered: Span[] = [...(before?.covered ?? [])];
  const identity = {
    format: CAMPAIGN_FORMAT,
    module_sha256: loadControlModule(campaign.module_file).sha256,
    simulator_sha256: simulatorHash(),
    runs,
    campaign,
  } as const;
  const record = (): CampaignRecord => ({ ...identity, covered, tally: structuredClone(tally) });

  const chunks = missingSpans(span, covered).flatMap(chunksOf);
  const pool = new Piscina<WorkerTask, Tally>({
    filename: `${compiledFolder()}fuzz/worker.js`,
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
    await Promise.all(Array.from({ length: workers }, serve));
  } finally {
    await pool.destroy();
  }
  return record();
}

function chunksOf([from, to]: Span): Span[] {
  const chunks: Span[] = [];
  for (let at = from; at < to; at += CHUNK) chunks.push([at, Math.min(to, at + CHUNK)]);
  return chunks;
}
