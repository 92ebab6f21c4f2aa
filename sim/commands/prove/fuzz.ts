import { existsSync } from 'node:fs';
import { cpus } from 'node:os';
import { Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import {
  brokenIn,
  type Campaign,
  CampaignFile,
  type CampaignRecord,
  CaseRunner,
  campaignIdentity,
  changeRanges,
  missingSpans,
  rangesAround,
  refuseContradictingRanges,
  refuseOtherCampaign,
  runCampaign,
  shardSpan,
} from '../../campaign/index.js';
import {
  collect,
  type Ended,
  EXIT,
  shellWords,
  wholeNumber,
  withoutOptions,
  withSignals,
} from '../base/command-line.js';
import { checkEnding, refuseUnwritable } from '../base/files.js';
import { blockDelete, DEFAULT_SEED, readCampaignInput, seedOf } from '../base/inputs.js';
import { prepareCases, readResult, reproduce, storedSentences } from './fuzz-cases.js';
import { CampaignProgress, printCampaign } from './fuzz-report.js';
import { searchRequirements } from './fuzz-search.js';

const DEFAULT_RUNS = 2000;
const MOST_RUNS = 100_000_000;
const MOST_WORKERS = 256;

/** `2/8`: the second of eight. */
function shardOf(text: string): { readonly index: number; readonly count: number } {
  const [, index, count] = (/^(\d+)\/(\d+)$/.exec(text) ?? []).map(Number);
  if (index !== undefined && count !== undefined && index >= 1 && index <= count) return { index, count };
  throw new InvalidArgumentError('Give number/of, such as 2/8 for the second of eight.');
}

const command = () =>
  new Command('fuzz')
    .description(
      'Cuts a program many times on random sheets, with random arcs, noise, faults and operators, and judges every requirement ' +
        'of the box in every cut. Without a program each cut draws one of its own. It says what was tried and what was found, within ' +
        'the ranges that it prints; it says nothing about anything else.',
    )
    .argument('[program]', 'RS-274 program, such as gate.nc')
    .addOption(blockDelete())
    .option('--setup <file>', 'box, machine and world, as YAML (default: the built-in values)')
    .option('--set <name=value>', 'change a value of the setup first; may be repeated', collect)
    .option(
      '--range <name=low:high>',
      'vary this between these; faults=0, operator=0 and box=0 leave them out',
      collect,
    )
    .option('--runs <n>', `cuts of the campaign (default: ${DEFAULT_RUNS})`, wholeNumber(1, MOST_RUNS))
    .option('--seed <n>', `seed of the campaign (default: ${DEFAULT_SEED})`, seedOf)
    .option(
      '--workers <n>',
      `threads (default: ${cpus().length}, one a core); the result is the same`,
      wholeNumber(1, MOST_WORKERS),
    )
    .addOption(new Option('--shard <i/n>', 'run only this part of the campaign, for standoff merge').argParser(shardOf))
    .option('--out <file>', 'keep the result in this file, as .json: now and then, at the end, and when broken off')
    .addOption(new Option('--resume', 'resume what --out holds, if it is there already').conflicts('force'))
    .option(
      '--search <requirement>',
      'follow the margin of this requirement or quality goal down instead of drawing at random; all: of every requirement',
    )
    .option('--cases <folder>', 'store what broke a requirement, simplified, and the nearest miss of each requirement')
    .option('--reproduce <folder>', 'cut every stored run in a folder again instead, and judge it')
    .option('--force', 'write over files that exist')
    .option('--json', 'print the result as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 no requirement broken, 1 a requirement broken, 2 bad input,' +
        '\n3 a mistake in Standoff, 130 broken off by Ctrl-C or a signal. A cut that stops is counted by its cause;' +
        '\nit does not change the status.',
    );

/** `standoff fuzz`. */
export const fuzzCommand = (ended: Ended) =>
  command().action(async (program, options) => ended(await fuzz(program, options)));

type FuzzOptions = ReturnType<ReturnType<typeof command>['opts']>;

/**
 * Runs a campaign, or a part of one.
 * @returns the exit status
 * @throws StandoffError for bad input, before anything is run
 */
async function fuzz(program_file: string | undefined, options: FuzzOptions): Promise<number> {
  if (options.reproduce !== undefined) {
    refuseOthers(
      'reproduce',
      options,
      [...CAMPAIGN_OPTIONS, 'runs', 'shard', 'out', 'resume', 'search', 'cases'],
      program_file,
    );
    return reproduce(options.reproduce, options);
  }
  if (options.search !== undefined) refuseOthers('search', options, ['shard', 'out', 'resume']);
  const before = resultBefore(options);
  const given = CAMPAIGN_OPTIONS.some((name) => options[name] !== undefined) || program_file !== undefined;
  const campaign = before && !given ? before.campaign : readCampaign(program_file, options);
  const runs = options.runs ?? before?.runs ?? DEFAULT_RUNS;
  const workers = options.workers ?? cpus().length;
  if (options.search !== undefined)
    return searchRequirements(campaign, { ...options, search: options.search, runs, workers });
  const { shard, out } = options;
  if (out !== undefined) refuseUnwritable(out);
  if (options.cases !== undefined) prepareCases(options.cases, options.force === true);
  const span = shard ? shardSpan(runs, shard.index, shard.count) : (before?.part ?? ([0, runs] as const));
  if (before) refuseOtherCampaign(out!, before, { ...campaignIdentity(campaign, runs), part: span });
  // Planned here once, so that a program that cannot be read is told before any thread is started.
  const runner = new CaseRunner(campaign);
  const file = out === undefined ? undefined : new CampaignFile(out);
  // JSON into a file leaves the terminal free for the line that moves.
  const progress = new CampaignProgress(process.stderr, span, options.json !== true || process.stdout.isTTY !== true);
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
  const stored = options.cases === undefined ? [] : storedSentences(options.cases, record, runner);
  const missing = missingSpans(span, record.covered).length > 0;
  const broken = brokenIn(record.tally).length > 0;
  const steps = nextSteps(process.argv.slice(2), options, missing, broken);
  printCampaign(record, [...stored, ...steps], options);
  return missing ? EXIT.interrupted : broken ? EXIT.broken : EXIT.kept;
}

/** Options that say, beside the program, what a campaign draws from. */
const CAMPAIGN_OPTIONS = ['blockDelete', 'setup', 'set', 'range', 'seed'] as const;

function readCampaign(program_file: string | undefined, options: FuzzOptions): Campaign {
  const { setup, programs } = readCampaignInput(program_file, options, []);
  const ranges = changeRanges(rangesAround(setup), setup, options.range ?? []);
  refuseContradictingRanges(ranges, setup);
  return { setup, ranges, programs, seed: options.seed ?? DEFAULT_SEED };
}

/**
 * Looks at --out before anything is run.
 * @returns what is there already and is to be resumed; undefined for a campaign from the beginning
 * @throws StandoffError `resume-nothing`, `result-exists`, and as `readResult`
 */
function resultBefore({ out, resume, force }: FuzzOptions): CampaignRecord | undefined {
  if (out === undefined) {
    if (!resume) return undefined;
    const remedy = 'name the file with --out, such as --out all.json';
    throw new StandoffError('resume-nothing', '--resume without --out', remedy);
  }
  checkEnding(`--out ${out}`, out, ['.json']);
  if (force || !existsSync(out)) return undefined;
  if (resume) return readResult(out);
  const remedy = 'resume it with --resume, overwrite it with --force, or choose another name';
  throw new StandoffError('result-exists', `${out} exists`, remedy);
}

/** A reproduction has all that decides it in its files; a search has no result to be resumed. */
function refuseOthers(
  mode: 'reproduce' | 'search',
  options: FuzzOptions,
  names: readonly (keyof FuzzOptions)[],
  program_file?: string,
): void {
  const others = [
    ...(program_file === undefined ? [] : ['a program']),
    ...names
      .filter((name) => options[name] !== undefined)
      .map((name) => `--${name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}`),
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

/**
 * What to type next, after a campaign.
 * @param args the command line as it was given, from `fuzz` on
 * @param unfinished some of its cuts were not tried
 */
export function nextSteps(
  args: readonly string[],
  { out, cases }: Pick<FuzzOptions, 'out' | 'cases'>,
  unfinished: boolean,
  broken: boolean,
): string[] {
  const resume = out === undefined ? undefined : ['fuzz', '--out', out, '--resume'];
  const steps: string[] = [];
  if (unfinished) {
    steps.push(
      resume
        ? `To resume: standoff ${shellWords(resume)}`
        : 'Nothing was kept to resume: --out FILE keeps what a campaign found, and with --resume goes on with it.',
    );
  }
  if (cases === undefined && !unfinished) {
    const what = broken ? 'The simplest cut that breaks each requirement' : 'The cuts that came nearest';
    // The number of threads changes nothing, so it is not repeated.
    const asked = withoutOptions(args, ['--workers']);
    steps.push(`${what}: standoff ${shellWords([...(resume ?? asked), '--cases', 'found'])}`);
  }
  return steps;
}
