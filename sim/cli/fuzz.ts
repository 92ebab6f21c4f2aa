import { cpus } from 'node:os';
import {
  type Campaign,
  CaseRunner,
  campaignIdentity,
  changeRanges,
  missingSpans,
  rangesAround,
  runCampaign,
  SHORT_CUTS,
  shardSpan,
} from '../fuzz/index.js';
import { assignValues, defaultSetup, readSetup } from '../setup/index.js';
import { ResultFile, refuseOtherWish, resultBefore } from './campaign-file.js';
import { EXIT } from './exit.js';
import { readText } from './files.js';
import { reproduce, storeCases } from './fuzz-cases.js';
import type { FuzzOptions } from './fuzz-options.js';
import { ProgressLine } from './fuzz-progress.js';
import { anyBroken, printCampaign } from './fuzz-report.js';
import { searchLaws } from './fuzz-search.js';
import { withSignals } from './interrupt.js';

const DEFAULT_RUNS = 2000;

/**
 * Runs a campaign, or a part of one.
 * @returns the exit status
 * @throws StandoffError for bad input, before anything is run
 */
export async function fuzz(program_file: string | undefined, options: FuzzOptions): Promise<number> {
  if (options.reproduce !== undefined) return reproduce(options.reproduce, options);
  const before = resultBefore(options);
  const given = CAMPAIGN_WORDS.some((name) => options[name] !== undefined) || program_file !== undefined;
  const campaign = before && !given ? before.campaign : readCampaign(program_file, options);
  const runs = options.runs ?? before?.runs ?? DEFAULT_RUNS;
  const workers = options.workers ?? cpus().length;
  if (options.search !== undefined) return searchLaws(campaign, { ...options, search: options.search, runs, workers });
  const { shard, out } = options;
  const span = shard ? shardSpan(runs, shard.index, shard.count) : (before?.part ?? ([0, runs] as const));
  if (before) refuseOtherWish(out!, before, { ...campaignIdentity(campaign, runs), part: span });
  // Planned here once, so that a program that cannot be read is told before any thread is started.
  const runner = new CaseRunner(campaign);
  const file = out === undefined ? undefined : new ResultFile(out);
  const progress = new ProgressLine(process.stderr, span, options.json !== true);
  const record = await withSignals(async (signal) => {
    try {
      return await runCampaign({
        campaign,
        runs,
        span,
        workers,
        signal,
        ...(before && { before }),
        onProgress: (part) => {
          progress.show(part);
          file?.keep(part);
        },
      });
    } finally {
      progress.end();
    }
  });
  file?.write(record);
  const stored = options.cases === undefined ? [] : storeCases(options.cases, record, runner, options.force === true);
  printCampaign(record, stored, options);
  const missing = missingSpans(span, record.covered).length > 0;
  return missing ? EXIT.interrupted : anyBroken(record) ? EXIT.broken : EXIT.kept;
}

/** Options that say, beside the program, what a campaign draws from. */
const CAMPAIGN_WORDS = ['setup', 'set', 'range', 'seed'] as const;

function readCampaign(program_file: string | undefined, options: FuzzOptions): Campaign {
  const stated =
    options.setup === undefined ? defaultSetup() : readSetup(readText(options.setup, 'setup'), options.setup);
  const setup = assignValues(stated, options.set ?? []);
  const programs =
    program_file === undefined ? SHORT_CUTS : [{ name: program_file, text: readText(program_file, 'program') }];
  return {
    setup,
    ranges: changeRanges(rangesAround(setup), setup, options.range ?? []),
    programs,
    seed: options.seed ?? 1,
  };
}
