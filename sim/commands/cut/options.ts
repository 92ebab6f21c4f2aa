import { Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { GREATEST_SEED } from '../../run/setup/schema.js';
import { DEFAULT_SEED } from '../base/inputs.js';
import { collect } from '../base/option-values.js';

/** Simulated seconds for a second of the clock in the live view. */
const SLOWEST = 0.01;
const FASTEST = 100;

export function seedOf(text: string): number {
  const seed = Number(text);
  if (/^\d+$/.test(text) && seed <= GREATEST_SEED) return seed;
  throw new InvalidArgumentError(`Give a whole number from 0 to ${GREATEST_SEED}.`);
}

function speedOf(text: string): number {
  const speed = Number(text);
  if (text.trim() !== '' && speed >= SLOWEST && speed <= FASTEST) return speed;
  throw new InvalidArgumentError(`Give a number from ${SLOWEST} to ${FASTEST}.`);
}

/** `standoff simulate` with its arguments and options; what it does is in simulate.ts. */
export const simulateCommand = () =>
  new Command('simulate')
    .summary('cut a program in the terminal, through the real control module')
    .description(
      'Cuts a program on a simulated table, through the control module that goes into the box, and judges every ' +
        'requirement of the box. Without a program and a setup: the example, hinge plates for a garden gate.',
    )
    .argument('[program]', 'RS-274 program, such as gate.nc')
    .option('--setup <file>', 'box, machine and world, as YAML (default: the example)')
    .addOption(
      new Option('--scenario <file>', 'cut a stored run again, instead of a program and a setup').conflicts('setup'),
    )
    .option('--seed <n>', `seed of everything random, whole number (default: ${DEFAULT_SEED})`, seedOf)
    .option(
      '--set <name=value>',
      'change a value, such as pierce_ms=400 or world.noise.white_V_rms_per_tick=0; may be repeated',
      collect,
    )
    .option('--trace <file>', 'record every millisecond as .csv or .csv.gz')
    .option('--store <file>', 'store the run as it was asked for, for --scenario')
    .option('--force', 'write over an existing file')
    .option('--json', 'print the summary as JSON and nothing else')
    .addOption(new Option('--live', 'watch the cut (default on a terminal)').conflicts(['still', 'json']))
    .addOption(new Option('--still', 'print a picture at the end (default elsewhere)').conflicts(['live', 'json']))
    .option('--speed <n>', 'speed of the live view, times real time (default: 1)', speedOf)
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 finished and every requirement kept, 1 a requirement broken, 2 bad input, 3 a mistake in Standoff,' +
        '\n4 not finished (the program stopped, took far too long, or q ended it), 130 broken off by Ctrl-C.',
    );

export type SimulateOptions = ReturnType<ReturnType<typeof simulateCommand>['opts']>;
