import type { CommandUnknownOpts } from '@commander-js/extra-typings';
import { box, boxCommand } from './box.js';
import { emulate, emulateCommand } from './emulate.js';
import { flash, flashCommand } from './flash.js';
import { lockstep, lockstepCommand } from './lockstep.js';
import { ports, portsCommand } from './ports.js';
import { watch, watchCommand } from './watch.js';

/**
 * The commands that talk to a box.
 * @param ended called with the exit status of the command that ran
 */
export function boxCommands(ended: (status: number) => void): readonly CommandUnknownOpts[] {
  return [
    portsCommand().action(async (options) => ended(await ports(options))),
    flashCommand().action(async (options) => ended(await flash(options))),
    boxCommand().action(async (action, values, options) => ended(await box(action, values, options))),
    watchCommand().action(async (options) => ended(await watch(options))),
    emulateCommand().action(async (program, options) => ended(await emulate(program, options))),
    lockstepCommand().action(async (options) => ended(await lockstep(options))),
  ];
}
