import { renameSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { StandoffError } from '../base/index.js';
import {
  type Campaign,
  type CampaignRecord,
  CaseRunner,
  changeRanges,
  mergeRecords,
  missingSpans,
  rangesAround,
  readRecord,
  refuseContradictingRanges,
  runCampaign,
  SHORT_CUTS,
  shardSpan,
  writeRecord,
} from '../fuzz/index.js';
import { terminalStyle } from '../report/index.js';
import { assignValues, defaultSetup, readSetup } from '../setup/index.js';
import { EXIT } from './exit.js';
import { readText } from './files.js';
import { prepareCases, storeCases } from './fuzz-cases.js';
import type { FuzzOptions, MergeOptions } from './fuzz-options.js';
import { ProgressLine } from './fuzz-progress.js';
import { campaignText } from './fuzz-report.js';
import { reproduce } from './fuzz-reproduce.js';
import { searchLaws } from './fuzz-search.js';
import { nextSteps } from './fuzz-steps.js';
import { checkEnding, refuseExisting, refuseUnwritable } from './output-name.js';

const DEFAULT_RUNS = 2000;

/**
 * Runs a campaign, or a part of one.
 * @returns the exit status
 * @throws StandoffError for bad input, before anything is run
 */
export async function fuzz(program_file: string | undefined, options: FuzzOptions): Promise<number> {
  if (options.reproduce !== undefined) {
    refuseWithReproduce(options, program_file);
    return reproduce(options.reproduce, options);
  }
  const before =
    options.resume === undefined ? undefined : readRecord(readText(options.resume, 'result'), options.resume);
  if (before) refuseOtherWish(options, program_file);
  const campaign = before?.campaign ?? readCampaign(program_file, options);
  const runs = before?.runs ?? options.runs ?? DEFAULT_RUNS;
  const workers = options.workers ?? cpus().length;
  if (options.search !== undefined) return searchLaws(campaign, { ...options, search: options.search, runs, workers });
  const span = options.shard ? shardSpan(runs, options.shard.index, options.shard.count) : ([0, runs] as const);
  const out = options.resume ?? options.out;
  if (out !== undefined) checkOutput(out, options.force === true || options.resume !== undefined);
  if (options.cases !== undefined) prepareCases(options.cases, options.force === true);
  // Planned here once, so that a program that cannot be read is told before any thread is started.
  const runner = new CaseRunner(campaign);
  const stop = new AbortController();
  // JSON into a file leaves the terminal free for the line that moves.
  const progress = new ProgressLine(process.stderr, span, options.json !== true || process.stdout.isTTY !== true);
  const onSignal = () => {
    stop.abort();
    progress.ending();
  };
  process.once('SIGINT', onSignal).once('SIGTERM', onSignal);
  let record: CampaignRecord;
  try {
    record = await runCampaign({
      campaign,
      runs,
      span,
      workers,
      signal: stop.signal,
      ...(before && { before }),
      onProgress: (part) => progress.show(part),
    });
  } finally {
    progress.end();
    process.off('SIGINT', onSignal).off('SIGTERM', onSignal);
  }
  if (out !== undefined) write(out, record);
  const stored = options.cases === undefined ? [] : storeCases(options.cases, record, runner);
  const missing = missingSpans(span, record.covered).length > 0;
  print(record, [...stored, ...nextSteps(process.argv.slice(2), options, missing, anyBroken(record))], options);
  return missing ? EXIT.interrupted : anyBroken(record) ? EXIT.broken : EXIT.kept;
}

/** Joins shards. @returns the exit status @throws StandoffError when they do not belong together */
export function merge(files: readonly string[], options: MergeOptions): number {
  const record = mergeRecords(files.map((file) => ({ file, record: readRecord(readText(file, 'result'), file) })));
  if (options.out !== undefined) {
    checkOutput(options.out, options.force === true);
    write(options.out, record);
  }
  print(record, [], options);
  return anyBroken(record) ? EXIT.broken : EXIT.kept;
}

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

const WISHES = ['setup', 'set', 'range', 'runs', 'seed'] as const;

/** Of these options the ones that were given, and the program. */
const given = (options: FuzzOptions, names: readonly (keyof FuzzOptions)[], program_file: string | undefined) => [
  ...(program_file === undefined ? [] : ['a program']),
  ...names.filter((name) => options[name] !== undefined).map((name) => `--${name}`),
];

/** Stored runs hold all that decides them. */
function refuseWithReproduce(options: FuzzOptions, program_file: string | undefined): void {
  const others = given(options, [...WISHES, 'shard', 'out', 'resume', 'search', 'cases'], program_file);
  if (others.length === 0) return;
  const what = `--reproduce cuts what ${options.reproduce} holds, but ${others.join(' and ')} was given as well`;
  throw new StandoffError('reproduce-changed', what, 'leave it out; standoff simulate --scenario takes other values');
}

/** A campaign that goes on is what it was. */
function refuseOtherWish(options: FuzzOptions, program_file: string | undefined): void {
  const others = given(options, WISHES, program_file);
  if (others.length === 0) return;
  const what = `--resume goes on with what ${options.resume} holds, but ${others.join(' and ')} was given as well`;
  throw new StandoffError('resume-changed', what, 'leave it out, or begin a new campaign');
}

function checkOutput(path: string, force: boolean): void {
  checkEnding(path, path, ['.json']);
  refuseExisting(path, force);
  refuseUnwritable(path);
}

/** Beside the file first, so that a result is never half written over. */
function write(path: string, record: CampaignRecord): void {
  writeFileSync(`${path}.part`, writeRecord(record));
  renameSync(`${path}.part`, path);
}

function print(record: CampaignRecord, steps: readonly string[], options: { json?: true; plain?: true }): void {
  if (options.json) {
    process.stdout.write(writeRecord(record));
    return;
  }
  process.stdout.write(campaignText(record, steps, terminalStyle(process.env, process.stdout, options.plain)));
}

const anyBroken = ({ tally }: CampaignRecord): boolean => Object.values(tally.laws).some((law) => law.broken > 0);
