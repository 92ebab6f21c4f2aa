import { type Job, jobOf } from '../../run/job/index.js';
import {
  assignValues,
  defaultSetup,
  exampleSetup,
  GREATEST_SEED,
  readScenario,
  readSetup,
  type Scenario,
  type Setup,
} from '../../run/setup/index.js';
import { EXAMPLE_NAME, EXAMPLE_PROGRAM } from '../../world/motion/index.js';
import { wholeNumber } from './command-line.js';
import { readText } from './files.js';

/** What the command line names as input. */
export interface InputOptions {
  readonly setup?: string | undefined;
  readonly scenario?: string | undefined;
  readonly seed?: number | undefined;
  /** Assignments, in their order. */
  readonly set?: readonly string[] | undefined;
}

/** A job and the files that it was read from. */
export interface FileJob extends Job {
  readonly files: readonly string[];
}

export const DEFAULT_SEED = 1;

/** For an option whose value is a seed. */
export const seedOf = wholeNumber(0, GREATEST_SEED);

/**
 * Reads program, setup or stored run. Assignments and a seed on the command line count more than a file.
 * @param program_file without it, and without a stored run, the example
 * @throws StandoffError for whatever is wrong with them; nothing has been run then
 */
export function readJob(program_file: string | undefined, options: InputOptions): FileJob {
  const { setup, seed, ...rest } = options.scenario
    ? readScenario(readText(options.scenario, 'stored run'), options.scenario)
    : readParts(program_file, options.setup);
  const changed = assignValues(setup, options.set ?? []);
  return {
    ...jobOf({ ...rest, seed: options.seed ?? seed, setup: changed }),
    files: [program_file, options.setup, options.scenario].filter((file) => file !== undefined),
  };
}

const readParts = (program_file: string | undefined, setup_file: string | undefined): Scenario => ({
  setup: readSetupFile(setup_file, exampleSetup),
  program: program_file === undefined ? { name: EXAMPLE_NAME, text: EXAMPLE_PROGRAM } : readProgram(program_file),
  seed: DEFAULT_SEED,
});

const readProgram = (file: string) => ({ name: file, text: readText(file, 'program') });

const readSetupFile = (file: string | undefined, otherwise: () => Setup): Setup =>
  file === undefined ? otherwise() : readSetup(readText(file, 'setup'), file);

/**
 * The setup alone, for commands that cut nothing; without a file the example's.
 * @throws StandoffError for whatever is wrong with the file or an assignment
 */
export const readSetupOptions = ({ setup, set }: Pick<InputOptions, 'setup' | 'set'>): Setup =>
  assignValues(readSetupFile(setup, exampleSetup), set ?? []);

/**
 * What a campaign or a map cuts: without a file the built-in setup, without a program the given ones.
 * @throws StandoffError for whatever is wrong with a file or an assignment
 */
export function readCampaignInput(
  program_file: string | undefined,
  { setup, set }: Pick<InputOptions, 'setup' | 'set'>,
  programs: readonly Scenario['program'][],
): { readonly setup: Setup; readonly programs: readonly Scenario['program'][] } {
  return {
    setup: assignValues(readSetupFile(setup, defaultSetup), set ?? []),
    programs: program_file === undefined ? programs : [readProgram(program_file)],
  };
}
