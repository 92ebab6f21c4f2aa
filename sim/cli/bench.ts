import type { CommandUnknownOpts } from '@commander-js/extra-typings';
import { divider } from './divider.js';
import { dividerCommand } from './divider-options.js';

/** The commands of the bench. @param ended gets the exit status of the one that ran */
export function benchCommands(ended: (status: number) => void): CommandUnknownOpts[] {
  return [dividerCommand().action((options) => ended(divider(options)))];
}
