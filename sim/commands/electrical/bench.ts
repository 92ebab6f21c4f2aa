import type { CommandUnknownOpts } from '@commander-js/extra-typings';
import { calibrateBox, calibrateCommand } from './calibrate.js';
import { divider } from './divider.js';
import { dividerCommand } from './divider-options.js';
import { duty, dutyCommand } from './duty.js';
import { supply, supplyCommand } from './supply.js';

/** The commands of the bench. @param ended gets the exit status of the one that ran */
export function benchCommands(ended: (status: number) => void): CommandUnknownOpts[] {
  return [
    supplyCommand().action(async (options) => ended(await supply(options))),
    dividerCommand().action((options) => ended(divider(options))),
    calibrateCommand().action((options) => ended(calibrateBox(options))),
    dutyCommand().action((program, options) => ended(duty(program, options))),
  ];
}
