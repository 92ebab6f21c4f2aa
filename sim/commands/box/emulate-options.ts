import { Command, InvalidArgumentError } from '@commander-js/extra-typings';
import { seedOf } from '../base/command-line.js';
import { DEFAULT_SEED } from '../base/inputs.js';

/** A port of our own choice; any free one is as good. */
const DEFAULT_LISTEN = 4100;

function listenOf(text: string): number {
  const port = Number(text);
  if (/^\d+$/.test(text) && port <= 65_535) return port;
  throw new InvalidArgumentError('Give a port from 1 to 65535, or 0 for any free one.');
}

export const emulateCommand = () =>
  new Command('emulate')
    .summary('an emulated box with a virtual table behind it, to practise with')
    .description(
      'Runs the shipped loader and image on an emulated board in real time, with a virtual sheet, torch and table ' +
        'behind its pins, and offers its serial line on a TCP port of this computer. Flash it, set it, watch it: every ' +
        'command takes the address that is printed.',
    )
    .argument('[program]', 'RS-274 program that the table cuts (default: the example)')
    .option('--setup <file>', 'machine and world, as YAML (default: the example); the box keeps its own parameters')
    .option('--seed <n>', `seed of everything random (default: ${DEFAULT_SEED})`, seedOf)
    .option('--listen <port>', 'TCP port, 0 for any free one', listenOf, DEFAULT_LISTEN)
    .option('--pty', 'offer a serial device as well (wants socat)')
    .option('--image <file>', 'image that is in the box at the start (default: the one that came with Standoff)')
    .option('--cut', 'turn the key on and cut at once')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nKeys, also on a pipe: c cut, k key, s stop chain, h hold, e reset, p power, q quit.');

export type EmulateOptions = ReturnType<ReturnType<typeof emulateCommand>['opts']>;
