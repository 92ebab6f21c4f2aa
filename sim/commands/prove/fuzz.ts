import { cpus } from 'node:os';
import { StandoffError } from '../../base/index.js';
import {
  type Campaign,
  CaseRunner,
  campaignIdentity,
  changeRanges,
  missingSpans,
  rangesAround,
  refuseContradictingRanges,
  runCampaign,
  SHORT_CUTS,
  shardSpan,
} from '../../campaign/index.js';
import { assignValues, defaultSetup, readSetup } from '../../run/setup/index.js';
import { EXIT } from '../base/exit.js';
import { readText } from '../base/files.js';
import { withSignals } from '../base/interrupt.js';
import { refuseUnwritable } from '../base/output-name.js';
import { ResultFile, refuseOtherWish, resultBefore } from '../../campaign/campaign-file.js';
import { prepareCases, storeCases } from '../../campaign/stored-cases.js';
import type { FuzzOptions } from './fuzz-options.js';
import { ProgressLine } from './fuzz-progress.js';
import { anyBroken, printCampaign } from './fuzz-report.js';
import { reproduce } from './fuzz-reproduce.js';
import { searchRequirements } from './fuzz-search.js';
import { nextSteps } from './fuzz-steps.js';

const DEFAULT_RUNS = 2000;

/**
 * Runs a campaign, or a part of one.
 * @returns the exit status
 * @throws StandoffError for bad input, before anything is run
 */
export async function fuzz(program_file: string | undefined, options: FuzzOptions): Promise<number> {
  if (options.reproduce !== undefined) {
    refuseOthers(
      'reproduce',
      options,
      [...CAMPAIGN_WORDS, 'runs', 'shard', 'out', 'resume', 'search', 'cases'],
      program_file,
    );
    return reproduce(options.reproduce, options);
  }
  if (options.search !== undefined) refuseOthers('search', options, ['shard', 'out', 'resume']);
  const before = resultBefore(options);
  const given = CAMPAIGN_WORDS.some((name) => options[name] !== undefined) || program_file !== undefined;
  const campaign = before && !given ? before.campaign : readCampaign(program_file, options);
  const runs = options.runs ?? before?.runs ?? DEFAULT_RUNS;
  const workers = options.workers ?? cpus().length;
  if (options.search !== undefined)
    return searchRequirements(campaign, { ...options, search: options.search, runs, workers });
  const { shard, out } = options;
  if (out !== undefined) refuseUnwritable(out);
  if (options.cases !== undefined) prepareCases(options.cases, options.force === true);
  const span = shard ? shardSpan(runs, shard.index, shard.count) : (before?.part ?? ([0, runs] as const));
  if (before) refuseOtherWish(out!, before, { ...campaignIdentity(campaign, runs), part: span });
  // Planned here once, so that a program that cannot be read is told before any thread is started.
  const runner = new CaseRunner(campaign);
  const file = out === undefined ? undefined : new ResultFile(out);
  // JSON into a file leaves the terminal free for the line that moves.
  const progress = new ProgressLine(process.stderr, span, options.json !== true || process.stdout.isTTY !== true);
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
  const stored = options.cases === undefined ? [] : storeCases(options.cases, record, runner);
  const missing = missingSpans(span, record.covered).length > 0;
  const steps = nextSteps(process.argv.slice(2), options, missing, anyBroken(record));
  printCampaign(record, [...stored, ...steps], options);
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
  const ranges = changeRanges(rangesAround(setup), setup, options.range ?? []);
  refuseContradictingRanges(ranges, setup);
  return {
    setup,
    ranges,
    programs,
    seed: options.seed ?? 1,
  };
}

/** A reproduction has all that decides it in its files; a search has no result to be gone on with. */
function refuseOthers(
  mode: 'reproduce' | 'search',
  options: FuzzOptions,
  names: readonly (keyof FuzzOptions)[],
  program_file?: string,
): void {
  const others = [
    ...(program_file === undefined ? [] : ['a program']),
    ...names.filter((name) => options[name] !== undefined).map((name) => `--${name}`),
  ];
  if (others.length === 0) return;
  const said = others.join(' and ');
  if (mode === 'search') {
    const remedy = 'leave it out; --cases keeps the cuts that came nearest';
    throw new StandoffError('search-options', `--search keeps no result, but ${said} was given as well`, remedy);
  }
  const what = `--reproduce cuts what ${options.reproduce} holds, but ${said} was given as well`;
  throw new StandoffError('reproduce-changed', what, 'leave it out; standoff simulate --scenario takes other values');
}
