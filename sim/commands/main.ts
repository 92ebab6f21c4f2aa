#!/usr/bin/env node
import { readFileSync } from 'node:fs';
import { Command, CommanderError, type CommandUnknownOpts } from '@commander-js/extra-typings';
import { asciiText, terminalStyle, wrapText } from '../views/text/index.js';
import { describeError, type Ended, EXIT } from './base/command-line.js';
import { box, boxCommand } from './box/box.js';
import { emulate, emulateCommand } from './box/emulate.js';
import { flash, flashCommand } from './box/flash.js';
import { lockstep, lockstepCommand } from './box/lockstep.js';
import { ports, portsCommand } from './box/ports.js';
import { watch, watchCommand } from './box/watch.js';
import { schemaCommand } from './cut/schema.js';
import { simulateCommand } from './cut/simulate.js';
import { calibrateCommand } from './electrical/calibrate.js';
import { dividerCommand } from './electrical/divider.js';
import { dutyCommand } from './electrical/duty.js';
import { supplyCommand } from './electrical/supply.js';
import { exploreCommand } from './prove/explore.js';
import { fuzzCommand } from './prove/fuzz.js';
import { mapCommand } from './prove/map.js';
import { mergeCommand } from './prove/merge.js';

/** Every command, in the order of the help. */
const commands = (ended: Ended): CommandUnknownOpts[] => [
  simulateCommand(ended),
  fuzzCommand(ended),
  mergeCommand(ended),
  mapCommand(ended),
  exploreCommand(ended),
  schemaCommand(),
  supplyCommand(ended),
  dividerCommand(ended),
  calibrateCommand(ended),
  dutyCommand(ended),
  portsCommand().action(async (options) => ended(await ports(options))),
  flashCommand().action(async (options) => ended(await flash(options))),
  boxCommand().action(async (action, values, options) => ended(await box(action, values, options))),
  watchCommand().action(async (options) => ended(await watch(options))),
  emulateCommand().action(async (program, options) => ended(await emulate(program, options))),
  lockstepCommand().action(async (options) => ended(await lockstep(options))),
];

function packageVersion(): string {
  const text = readFileSync(new URL('../../../package.json', import.meta.url), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}

/** The whole command line. @param args without the names of node and of this file @returns the exit status */
async function main(args: readonly string[]): Promise<number> {
  let status: number = EXIT.kept;
  const root = new Command('standoff')
    .description('Torch height control by arc voltage, on the desk: simulate a cut before it meets a real arc.')
    .version(packageVersion(), '-V, --version', 'print the version')
    .helpOption('-h, --help', 'print this help')
    .configureOutput({ outputError })
    .showHelpAfterError('(standoff --help lists what there is)')
    .exitOverride();
  const ended = (by_command: number) => {
    status = by_command;
  };
  for (const command of commands(ended)) root.addCommand(command);
  for (const command of root.commands) {
    command.exitOverride().helpOption('-h, --help', 'print this help').configureOutput({ outputError });
    command.showHelpAfterError(`(standoff ${command.name()} --help lists what there is)`);
  }
  try {
    await root.parseAsync(args, { from: 'user' });
    return status;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.kept : EXIT.badInput;
    const { text, status: failed } = describeError(error);
    complain(text);
    return failed;
  }
}

/** Writes to stderr in bytes that it can show; on a terminal lines are broken between words. */
function complain(text: string): void {
  const { unicode, columns } = terminalStyle(process.env, process.stderr, process.argv.includes('--plain'));
  const shown = process.stderr.isTTY
    ? text
        .split('\n')
        .map((line) => brokenBetweenWords(line, columns))
        .join('\n')
    : text;
  process.stderr.write(unicode ? shown : asciiText(shown));
}

function brokenBetweenWords(line: string, columns: number): string {
  const words = line.trimStart();
  const indent = line.slice(0, line.length - words.length);
  return wrapText(words, columns - indent.length, 2)
    .map((each) => indent + each)
    .join('\n');
}

/** What commander finds wrong, in the same voice as everything else. */
const outputError = (text: string): void => complain(text.replace(/^error: /, 'standoff: '));

// A reader that has seen enough, such as `| head`, closes the pipe; that is no mistake.
for (const stream of [process.stdout, process.stderr]) {
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
  });
}

process.exitCode = await main(process.argv.slice(2));
