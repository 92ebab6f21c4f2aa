#!/usr/bin/env node
import { existsSync, readFileSync, statSync } from 'node:fs';
import { Command, CommanderError, type CommandUnknownOpts } from '@commander-js/extra-typings';
import { packageFile } from '../base/package/files.js';
import { asciiText, terminalStyle, wrapText } from '../views/text/index.js';
import { describeError, type Ended, EXIT, shellWords } from './base/command-line.js';

interface CommandRow {
  readonly name: string;
  readonly summary: string;
  /** The command itself. Its code and the packages that it needs are loaded only now. */
  readonly load: () => Promise<(ended: Ended) => CommandUnknownOpts>;
}

/** Every command, in the order of the help. */
const COMMANDS: readonly CommandRow[] = [
  {
    name: 'init',
    summary: 'write a first setup and a first program',
    load: async () => (await import('./cut/init.js')).initCommand,
  },
  {
    name: 'simulate',
    summary: 'cut a program in the terminal, through the real control module',
    load: async () => (await import('./cut/simulate.js')).simulateCommand,
  },
  {
    name: 'check',
    summary: 'say what is understood of a program, and whether it goes with a setup',
    load: async () => (await import('./cut/check.js')).checkCommand,
  },
  {
    name: 'fuzz',
    summary: 'try the settings on many random cuts',
    load: async () => (await import('./prove/fuzz.js')).fuzzCommand,
  },
  {
    name: 'merge',
    summary: 'join the shards of a campaign',
    load: async () => (await import('./prove/merge.js')).mergeCommand,
  },
  {
    name: 'map',
    summary: 'find values of two parameters that leave room on every side',
    load: async () => (await import('./prove/map.js')).mapCommand,
  },
  {
    name: 'tune',
    summary: 'look for better gains and limits, or say what spoils the cuts',
    load: async () => (await import('./prove/tune.js')).tuneCommand,
  },
  {
    name: 'explore',
    summary: 'try everything that the sequence of the box can do',
    load: async () => (await import('./prove/explore.js')).exploreCommand,
  },
  {
    name: 'schema',
    summary: 'print the JSON Schema of a setup, a stored run or a summary',
    load: async () => (await import('./cut/schema.js')).schemaCommand,
  },
  {
    name: 'supply',
    summary: 'ask whether a cutting supply suits a table, and which conductor is which',
    load: async () => (await import('./electrical/supply.js')).supplyCommand,
  },
  {
    name: 'divider',
    summary: 'size the arc voltage divider, or check the one in a setup',
    load: async () => (await import('./electrical/divider.js')).dividerCommand,
  },
  {
    name: 'calibrate',
    summary: 'gain and zero of the box from meter volts and counts',
    load: async () => (await import('./electrical/calibrate.js')).calibrateCommand,
  },
  {
    name: 'duty',
    summary: "hold a program against the supply's duty cycle",
    load: async () => (await import('./electrical/duty.js')).dutyCommand,
  },
  {
    name: 'begin',
    summary: 'from a bare board and a USB cable to a box in lockstep, step by step',
    load: async () => {
      const { begin, beginCommand } = await import('./box/begin.js');
      return (ended) => beginCommand().action(async (options) => ended(await begin(options)));
    },
  },
  {
    name: 'ports',
    summary: 'list serial ports and say which of them has a box',
    load: async () => {
      const { ports, portsCommand } = await import('./box/ports.js');
      return (ended) => portsCommand().action(async (options) => ended(await ports(options)));
    },
  },
  {
    name: 'flash',
    summary: 'bring an image into the box',
    load: async () => {
      const { flash, flashCommand } = await import('./box/flash.js');
      return (ended) => flashCommand().action(async (options) => ended(await flash(options)));
    },
  },
  {
    name: 'box',
    summary: 'show a box, and set its parameters',
    load: async () => {
      const { box, boxCommand } = await import('./box/box.js');
      return (ended) =>
        boxCommand().action(async (action, values, options) => ended(await box(action, values, options)));
    },
  },
  {
    name: 'watch',
    summary: 'watch a box at work, and record what it does',
    load: async () => {
      const { watch, watchCommand } = await import('./box/watch.js');
      return (ended) => watchCommand().action(async (options) => ended(await watch(options)));
    },
  },
  {
    name: 'emulate',
    summary: 'an emulated box with a virtual table behind it, to practise with',
    load: async () => {
      const { emulate, emulateCommand } = await import('./box/emulate.js');
      return (ended) => emulateCommand().action(async (program, options) => ended(await emulate(program, options)));
    },
  },
  {
    name: 'lockstep',
    summary: 'run the module in the box against the one on the desk, tick for tick',
    load: async () => {
      const { lockstep, lockstepCommand } = await import('./box/lockstep.js');
      return (ended) => lockstepCommand().action(async (options) => ended(await lockstep(options)));
    },
  },
  {
    name: 'bring-up',
    summary: 'prove a new board, step by step, with a record',
    load: async () => {
      const { bringUp, bringUpCommand } = await import('./box/bring-up.js');
      return (ended) => bringUpCommand().action(async (options) => ended(await bringUp(options)));
    },
  },
  {
    name: 'complete',
    summary: 'print what lets a shell complete words with the Tab key',
    load: async () => (await import('./base/completion.js')).completeCommand,
  },
];

/** What to type next, for whoever typed nothing or something that is no command. */
const WHAT_NEXT = `Type next:
  standoff simulate                   watch the example cut
  standoff check gate.nc              what is understood of your program
  standoff simulate gate.nc           cut it, on the example's table
  standoff --help                     every command; standoff check --help: one of them
`;

/** A file that is there, and no name of a command. */
const isFileName = (word: string): boolean =>
  COMMANDS.every(({ name }) => name !== word) && existsSync(word) && statSync(word).isFile();

/** The version, and what stands for all that the box does; it is loaded only where it is asked for. */
async function versionText(args: readonly string[]): Promise<string> {
  const { version } = JSON.parse(readFileSync(packageFile('package.json'), 'utf8')) as { version: string };
  if (!args.some((arg) => arg === '-V' || arg === '--version')) return version;
  const { loadControlModule } = await import('../run/controller/index.js');
  return `${version}\ncontrol module ${loadControlModule().sha256}`;
}

/** The whole command line. @param args without the names of node and of this file @returns the exit status */
async function main(args: readonly string[]): Promise<number> {
  let status: number = EXIT.kept;
  const root = new Command('standoff')
    .description('Torch height control by arc voltage, on the desk: simulate a cut before it meets a real arc.')
    .version(await versionText(args), '-V, --version', 'print the version and the SHA-256 of the control module')
    .helpOption('-h, --help', 'print this help')
    .configureOutput({ outputError })
    .configureHelp({ subcommandTerm: (command) => command.name() })
    .addHelpText('after', `\n${WHAT_NEXT}`)
    .showHelpAfterError(WHAT_NEXT)
    .exitOverride();
  const ended = (by_command: number) => {
    status = by_command;
  };
  // So a shell asks, by the script that it was given: what may stand where the last word is being typed?
  if (args[0] === 'complete' && args[1] === '--') {
    const { answerShell } = await import('./base/completion.js');
    await answerShell(COMMANDS, args.slice(2));
    return EXIT.kept;
  }
  const wanted = args.filter((arg) => !arg.startsWith('-')).find((arg) => arg !== 'help');
  if (wanted !== undefined && wanted === args[0] && isFileName(wanted)) {
    const file = shellWords([wanted]);
    complain(
      `standoff: ${wanted} is a file, no command\n  type: standoff check ${file}, or standoff simulate ${file}\n`,
    );
    return EXIT.badInput;
  }
  for (const { name, summary, load } of COMMANDS) {
    const command = name === wanted ? (await load())(ended) : new Command(name);
    root.addCommand(command.summary(summary));
  }
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
  // A line to be typed stays whole: the terminal folds it, and it can be copied.
  if (/^ +npx /.test(line)) return line;
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
    if (error.code === 'EPIPE') return;
    if (stream === process.stdout) {
      complain(`standoff: the output cannot be written (${error.code})\n  make room, or send it somewhere else\n`);
    }
    process.exit(EXIT.badInput);
  });
}

process.exitCode = await main(process.argv.slice(2));
