import { cpus } from 'node:os';
import { Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { GREATEST_SEED } from '../../run/setup/schema.js';
import { collect, wholeNumber } from '../base/option-values.js';

const MOST_RUNS = 100_000_000;
const MOST_WORKERS = 256;

/** `2/8`: the second of eight. */
function shardOf(text: string): { readonly index: number; readonly count: number } {
  const [, index, count] = (/^(\d+)\/(\d+)$/.exec(text) ?? []).map(Number);
  if (index !== undefined && count !== undefined && index >= 1 && index <= count) return { index, count };
  throw new InvalidArgumentError('Give number/of, such as 2/8 for the second of eight.');
}

/** `standoff fuzz` with its arguments and options; what it does is in fuzz.ts. */
export const fuzzCommand = () =>
  new Command('fuzz')
    .summary('try the settings on many random cuts')
    .description(
      'Cuts a program many times on random sheets, with random arcs, noise, faults and operators, and judges every requirement ' +
        'of the box in every cut. Without a program: three short cuts. It says what was tried and what was found, within ' +
        'the ranges that it prints; it says nothing about anything else.',
    )
    .argument('[program]', 'RS-274 program, such as gate.nc')
    .option('--setup <file>', 'box, machine and world, as YAML (default: the built-in values)')
    .option('--set <name=value>', 'change a value of the setup first; may be repeated', collect)
    .option('--range <name=low:high>', 'vary this between these; faults=0 and operator=0 leave them out', collect)
    .option('--runs <n>', 'cuts of the campaign (default: 2000)', wholeNumber(1, MOST_RUNS))
    .option('--seed <n>', 'seed of the campaign (default: 1)', wholeNumber(0, GREATEST_SEED))
    .option(
      '--workers <n>',
      `threads (default: ${cpus().length}, one a core); the result is the same`,
      wholeNumber(1, MOST_WORKERS),
    )
    .addOption(new Option('--shard <i/n>', 'run only this part of the campaign, for standoff merge').argParser(shardOf))
    .option('--out <file>', 'keep the result in this file, as .json: now and then, at the end, and when broken off')
    .addOption(new Option('--resume', 'go on with what --out holds, if it is there already').conflicts('force'))
    .option(
      '--search <requirement>',
      'follow the margin of this requirement down instead of drawing at random; all: of every requirement',
    )
    .option('--cases <folder>', 'store what broke a requirement, simplified, and the nearest miss of each requirement')
    .option('--reproduce <folder>', 'cut every stored run in a folder again instead, and judge it')
    .option('--force', 'write over files that exist')
    .option('--json', 'print the result as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 no requirement broken, 1 a requirement broken, 2 bad input, 3 a mistake in Standoff,' +
        '\n4 a stored run of --reproduce did not finish, 130 broken off by Ctrl-C or a signal.',
    );

export type FuzzOptions = ReturnType<ReturnType<typeof fuzzCommand>['opts']>;
