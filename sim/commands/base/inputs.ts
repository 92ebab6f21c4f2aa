import { existsSync } from 'node:fs';
import { Option } from '@commander-js/extra-typings';
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
import { readInput, readText } from './files.js';

/** What the command line names as input. */
export interface InputOptions {
  readonly setup?: string | undefined;
  readonly scenario?: string | undefined;
  readonly seed?: number | undefined;
  /** Assignments, in their order. */
  readonly set?: readonly string[] | undefined;
  /** See `blockDelete`. */
  readonly blockDelete?: boolean | undefined;
}

/** The switch that a machine has for the lines of a program that begin with `/`; off, they are executed, and told. */
export const blockDelete = () =>
  new Option(
    '--block-delete',
    'leave out the lines of the program that begin with /, as a machine does with this switch on',
  );

/** The input that a command was given, for the commands that it tells to type next. */
export interface GivenInput {
  readonly program: string | undefined;
  readonly block_delete: boolean;
  readonly setup: string | undefined;
  readonly set: readonly string[];
  readonly range: readonly string[];
}

/** The words of a command that name the same input. */
export const inputWords = ({ program, block_delete, setup, set, range }: GivenInput): string[] => [
  ...(program === undefined ? [] : [program]),
  ...(block_delete ? ['--block-delete'] : []),
  ...(setup === undefined ? [] : ['--setup', setup]),
  ...set.flatMap((word) => ['--set', word]),
  ...range.flatMap((word) => ['--range', word]),
];

/** A job and the files that it was read from. */
export interface FileJob extends Job {
  readonly files: readonly string[];
}

export const DEFAULT_SEED = 1;

/** A setup of this name in the working folder is found by every command that writes to no box. */
export const SETUP_NAME = 'standoff.yaml';
let told = false;

/** The setup that is read: the named one, or the one of the working folder, which is told on the error stream once. */
export function setupFile(named: string | undefined): string | undefined {
  if (named !== undefined || !existsSync(SETUP_NAME)) return named;
  if (!told) process.stderr.write(`standoff: setup ${SETUP_NAME}, found in this folder; --setup names another\n`);
  told = true;
  return SETUP_NAME;
}

/** For an option whose value is a seed. */
export const seedOf = wholeNumber(0, GREATEST_SEED);

/**
 * Reads program, setup or stored run. Assignments and a seed on the command line count more than a file.
 * @param program_file without it, and without a stored run, the example
 * @throws StandoffError for whatever is wrong with them; nothing has been run then
 */
export function readJob(program_file: string | undefined, options: InputOptions): FileJob {
  const setup_file = options.scenario ? undefined : setupFile(options.setup);
  const { setup, seed, ...rest } = options.scenario
    ? readScenario(readText(options.scenario, 'stored run'), options.scenario)
    : readParts(program_file, setup_file, options.blockDelete);
  const changed = assignValues(setup, options.set ?? []);
  return {
    ...jobOf({ ...rest, seed: options.seed ?? seed, setup: changed }),
    files: [program_file, setup_file, options.scenario].filter((file) => file !== undefined).filter(isFile),
  };
}

const readParts = (
  program_file: string | undefined,
  setup_file: string | undefined,
  block_delete: boolean | undefined,
): Scenario => ({
  setup: readSetupFile(setup_file, exampleSetup),
  program:
    program_file === undefined
      ? { name: EXAMPLE_NAME, text: EXAMPLE_PROGRAM }
      : readProgram(program_file, block_delete),
  seed: DEFAULT_SEED,
});

/** The name that stands for standard input, and how it is called in messages. */
export const STANDARD_INPUT = '-';
const isFile = (name: string): boolean => name !== STANDARD_INPUT;
const STANDARD_INPUT_NAME = 'standard-input';

/** @param file its name, or `-` for standard input @throws StandoffError as readText */
function readProgram(file: string, block_delete = false): Scenario['program'] {
  const program =
    file === STANDARD_INPUT
      ? { name: STANDARD_INPUT_NAME, text: readInput('program') }
      : { name: file, text: readText(file, 'program') };
  return block_delete ? withLinesLeftOut(program) : program;
}

/** A `/` before all else of a line but blanks. */
const MARKED = /^(\ufeff?[^\S\r\n]*)\//gm;

/** The lines that begin with `/` are comments from then on: the others keep their numbers, and a stored run needs no switch. */
function withLinesLeftOut({ name, text }: Scenario['program']): Scenario['program'] {
  let count = 0;
  const rest = text.replaceAll(MARKED, (_, before: string) => {
    count++;
    return `${before};`;
  });
  const lines = count === 1 ? '1 line begins with / and is' : `${count} lines begin with / and are`;
  process.stderr.write(
    `standoff: block delete is on: ${count === 0 ? 'no line begins with /' : `${lines} left out`}\n`,
  );
  return { name, text: rest };
}

const readSetupFile = (file: string | undefined, otherwise: () => Setup): Setup =>
  file === undefined ? otherwise() : readSetup(readText(file, 'setup'), file);

/**
 * The setup alone, for commands that cut nothing; without a file the example's.
 * @throws StandoffError for whatever is wrong with the file or an assignment
 */
export const readSetupOptions = ({ setup, set }: Pick<InputOptions, 'setup' | 'set'>): Setup =>
  assignValues(readSetupFile(setupFile(setup), exampleSetup), set ?? []);

/**
 * What a campaign or a map cuts: without a file the built-in setup (or `otherwise`), without a program the given ones.
 * @throws StandoffError for whatever is wrong with a file or an assignment
 */
export function readCampaignInput(
  program_file: string | undefined,
  { setup, set, blockDelete }: Pick<InputOptions, 'setup' | 'set' | 'blockDelete'>,
  programs: readonly Scenario['program'][],
  otherwise: () => Setup = defaultSetup,
): { readonly setup: Setup; readonly programs: readonly Scenario['program'][] } {
  return {
    setup: assignValues(readSetupFile(setupFile(setup), otherwise), set ?? []),
    programs: program_file === undefined ? programs : [readProgram(program_file, blockDelete)],
  };
}
