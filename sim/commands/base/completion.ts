import { script } from '@bomb.sh/tab';
import { Argument, Command, type CommandUnknownOpts, type Option } from '@commander-js/extra-typings';
import { ROWS_BY_PATH } from '../../run/setup/index.js';
import { type Ended, EXIT } from './command-line.js';

/** What the Tab key needs to know of a command. */
export interface Completable {
  readonly name: string;
  readonly summary: string;
  readonly load: () => Promise<(ended: Ended) => CommandUnknownOpts>;
}

/** Words that may stand there, with what they mean; and what the shell does with them, in bits that its script reads. */
interface Answer {
  readonly words: readonly (readonly [word: string, meaning: string])[];
  readonly bits: number;
}
const NO_SPACE = 2;
const NO_FILES = 4;
/** No word is known to go there: the shell offers its files. */
const FILES: Answer = { words: [], bits: 0 };

const SHELLS = ['bash', 'zsh', 'fish', 'powershell'] as const;
type Shell = (typeof SHELLS)[number];
/** What makes it stay, once `standoff` itself is found by the shell. */
const TO_KEEP: Readonly<Record<Shell, string>> = {
  bash: "standoff complete bash >> ~/.bashrc   (bash needs its package 'bash-completion')",
  zsh: 'standoff complete zsh >> ~/.zshrc   (below a line with compinit)',
  fish: 'standoff complete fish > ~/.config/fish/completions/standoff.fish',
  powershell: 'standoff complete powershell >> $PROFILE',
};

/** `standoff complete`: prints what a shell reads once, and answers what it then asks at each press of the Tab key. */
export const completeCommand = (ended: Ended) =>
  new Command('complete')
    .description(
      'Prints a script by which a shell completes commands, options and names of values with the Tab key. ' +
        'It is read once, or put where the shell reads it at its start.',
    )
    .addArgument(new Argument('<shell>', 'the shell that you type in').choices(SHELLS))
    .addHelpText('after', `\nTo keep it:\n${SHELLS.map((shell) => `  ${TO_KEEP[shell]}`).join('\n')}`)
    .action((shell) => {
      script(shell, 'standoff', 'standoff');
      // Where no word is known, a file name may be wanted.
      if (shell === 'bash') process.stdout.write('complete -o default -F __standoff_complete standoff\n');
      ended(EXIT.kept);
    });

/** Answers the shell's script. @param words what was typed after `standoff`; the last one is being typed and may be empty */
export async function answerShell(commands: readonly Completable[], words: readonly string[]): Promise<void> {
  const { words: found, bits } = await answerOf(commands, words);
  process.stdout.write(`${found.map(([word, meaning]) => `${word}\t${meaning}\n`).join('')}:${bits}\n`);
}

async function answerOf(commands: readonly Completable[], words: readonly string[]): Promise<Answer> {
  const typed = words.at(-1) ?? '';
  const [name, ...before] = words.slice(0, -1);
  if (name === undefined)
    return only(
      typed,
      commands.map(({ name, summary }) => [name, summary]),
    );
  const row = commands.find((one) => one.name === name);
  if (row === undefined) return FILES;
  const command = (await row.load())(() => {});
  const option = optionOf(command, before.at(-1));
  if (option !== undefined) return valueWords(option, typed);
  if (typed.startsWith('-')) return only(typed, optionsOf(command));
  const argument = command.registeredArguments.at(argumentsIn(command, before));
  if (name === 'box' && before.includes('set')) return settings(typed, (path) => path.startsWith('box.'));
  return argument?.argChoices ? only(typed, choicesOf(argument.argChoices)) : FILES;
}

function only(typed: string, words: Answer['words'], bits = NO_FILES): Answer {
  return { words: words.filter(([word]) => word.startsWith(typed)), bits };
}

const choicesOf = (choices: readonly string[]): Answer['words'] => choices.map((choice) => [choice, '']);

/** The option whose value comes next; undefined where none is waited for. */
function optionOf({ options }: CommandUnknownOpts, word: string | undefined): Option | undefined {
  return options.find(({ long, short, required }) => required && word !== undefined && [long, short].includes(word));
}

function optionsOf(command: CommandUnknownOpts): Answer['words'] {
  const visible = command.createHelp().visibleOptions(command);
  return visible.map(({ long, description }) => [long ?? '', description]);
}

/** How many arguments stand in these words; all beyond the last count for it. */
function argumentsIn(command: CommandUnknownOpts, before: readonly string[]): number {
  const given = before.filter((word, index) => !word.startsWith('-') && !optionOf(command, before[index - 1])).length;
  const last = command.registeredArguments.length - 1;
  return command.registeredArguments[last]?.variadic ? Math.min(given, last) : given;
}

function valueWords({ argChoices, flags }: Option, typed: string): Answer {
  if (argChoices !== undefined) return only(typed, choicesOf(argChoices));
  if (flags.startsWith('--set ')) return settings(typed, () => true);
  return flags.includes('file') || flags.includes('folder') ? FILES : { words: [], bits: NO_FILES };
}

/** Names of values of a setup, each up to the sign after which its value is typed. */
function settings(typed: string, wanted: (path: string) => boolean): Answer {
  const rows = [...ROWS_BY_PATH].filter(([path]) => wanted(path));
  return only(
    typed,
    rows.map(([path, row]) => [`${path.replace(/^box\./, '')}=`, row.meaning]),
    NO_SPACE | NO_FILES,
  );
}
