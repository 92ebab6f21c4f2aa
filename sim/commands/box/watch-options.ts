import { Command } from '@commander-js/extra-typings';
import { baudOption, portOption } from './port.js';

export const watchCommand = () =>
  new Command('watch')
    .summary('watch a box at work, and record what it does')
    .description(
      'Shows what a box measures, believes and does, as it happens: on a terminal the picture of simulate as far as a ' +
        'box knows it, elsewhere plain lines. A lost link is looked for until it is found. Watching changes nothing in ' +
        'the box.',
    )
    .addOption(portOption())
    .option('--save <file>', 'record every row as .csv or .csv.gz, in the format of simulate --trace')
    .option('--force', 'write over an existing file')
    .addOption(baudOption())
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nBelow 921600 bit/s the line has no room for every tick; then every few ticks have a row.' +
        '\nExit status: 0 ended with q, 2 bad input or no box, 130 ended with Ctrl-C. A recording is whole either way.',
    );

export type WatchOptions = ReturnType<ReturnType<typeof watchCommand>['opts']>;
