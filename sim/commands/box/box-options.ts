import { Argument, Command } from '@commander-js/extra-typings';
import { portOption } from './port.js';

/** What `standoff box` can do. */
export const BOX_ACTIONS = ['show', 'events', 'set', 'load', 'save'] as const;
export type BoxAction = (typeof BOX_ACTIONS)[number];

export const boxCommand = () =>
  new Command('box')
    .summary('look into a box, and set its parameters')
    .description(
      'Shows what a box is and holds, sets parameters, or exchanges them with the section box of a setup file. ' +
        'Parameters change only with the arm key off, at rest and without voltage at the tap.',
    )
    .addArgument(new Argument('[action]', 'what to do').choices(BOX_ACTIONS).default('show' as const))
    .argument('[values...]', 'set: NAME=VALUE, such as pierce_ms=400; load, save: a setup file')
    .addOption(portOption())
    .option('--json', 'print identity and parameters, or the events, as JSON and nothing else (show, events)')
    .option('--force', 'save: change the section box of a file that exists; the rest of it stays')
    .option('--plain', 'ASCII only, without colour');

export type BoxOptions = ReturnType<ReturnType<typeof boxCommand>['opts']>;
