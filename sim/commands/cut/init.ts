import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command, Option } from '@commander-js/extra-typings';
import { jobOf } from '../../run/job/index.js';
import {
  FIRST_QUESTIONS,
  type FirstAnswers,
  type FirstQuestion,
  firstRow,
  firstSetup,
  readSetup,
} from '../../run/setup/index.js';
import { terminalStyle } from '../../views/text/index.js';
import { askAll, hintOf, readAnswer } from '../base/ask.js';
import { type Ended, EXIT } from '../base/command-line.js';
import { makeFolder, refuseExisting } from '../base/files.js';
import { DEFAULT_SEED, SETUP_NAME } from '../base/inputs.js';
import { Page } from '../base/page.js';

const PROGRAM_NAME = 'first.nc';

const askedText = (one: FirstQuestion): string => `${one.text} [${hintOf(firstRow(one))}]`;

/** What is given as options stands under the name of the option. */
type InitOptions = Readonly<Record<string, string | boolean | undefined>>;

const command = () => {
  const made = new Command('init')
    .description(
      'Writes a first setup, standoff.yaml, with only the keys that must be right first, and a first program. On a terminal ' +
        'it asks; elsewhere, or with --no-ask, it takes the options. What is not answered is marked as not known yet.',
    )
    .argument('[folder]', 'folder to write into; made if it is not there (default: this one)')
    .option('--no-ask', 'ask nothing')
    .option('--force', 'write over files that exist')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nExit status: 0 written, 2 bad input; nothing is written then. 130 broken off by Ctrl-C.');
  for (const one of FIRST_QUESTIONS) {
    made.addOption(new Option(`--${one.option} <value>`, askedText(one)));
  }
  return made;
};

/** `standoff init`. */
export const initCommand = (ended: Ended) =>
  command().action(async (folder, options) => ended(await init(folder ?? '.', options as unknown as InitOptions)));

/** As commander names an option: `arc-V` is `arcV`. */
const camel = (option: string) => option.replace(/-(.)/g, (_, letter: string) => letter.toUpperCase());

/**
 * Asks, or takes the options; reads what it is about to write as any other command would; writes.
 * @returns the exit status
 * @throws StandoffError for an answer that is none, for values that contradict each other, for files that exist
 */
async function init(folder: string, options: InitOptions): Promise<number> {
  const style = terminalStyle(process.env, process.stdout, options.plain === true ? true : undefined);
  const files = [SETUP_NAME, PROGRAM_NAME].map((name) => join(folder, name));
  for (const file of files) refuseExisting(file, options.force === true);
  const given = FIRST_QUESTIONS.flatMap((one) => {
    const text = options[camel(one.option)];
    if (typeof text !== 'string') return [];
    return [[one.option, readAnswer(firstRow(one), `--${one.option} ${text}`, text)] as const];
  });
  const known: FirstAnswers = Object.fromEntries(given);
  const open = FIRST_QUESTIONS.filter(({ option }) => !(option in known));
  const asks = options.ask !== false && process.stdin.isTTY === true;
  const asked = asks ? await askQuestions(open) : {};
  if (asked === undefined) {
    process.stderr.write('\nstandoff: broken off: nothing was written\n');
    return EXIT.interrupted;
  }
  const answers = { ...known, ...asked };
  const texts = [firstSetup(answers, new Date().toISOString().slice(0, 10)), firstProgram(answers)] as const;
  tryOut(...texts);
  makeFolder(folder);
  files.forEach((file, at) => {
    writeFileSync(file, texts[at]!);
  });
  const missing = FIRST_QUESTIONS.filter(({ option }) => answers[option] === undefined);
  process.stdout.write(writtenPage(folder, missing, new Page(style)));
  return EXIT.kept;
}

async function askQuestions(open: readonly FirstQuestion[]): Promise<FirstAnswers | undefined> {
  process.stderr.write('Enter alone, or ?, for what you do not know yet.\n');
  const found = await askAll(
    open.map((one) => ({
      text: askedText(one),
      read: (text: string, number: number) => readAnswer(firstRow(one), `answer ${number}`, text),
    })),
  );
  return found && Object.fromEntries(open.map(({ option }, at) => [option, found[at]]));
}

/** @throws StandoffError when the files could not be used as they are, such as for heights that contradict each other */
function tryOut(setup_text: string, program_text: string): void {
  const setup = readSetup(setup_text, SETUP_NAME);
  jobOf({ setup, seed: DEFAULT_SEED, program: { name: PROGRAM_NAME, text: program_text } });
}

function writtenPage(folder: string, missing: readonly FirstQuestion[], page: Page): string {
  page.strong(`Written: ${SETUP_NAME} and ${PROGRAM_NAME}, in ${folder === '.' ? 'this folder' : folder}.`);
  if (missing.length > 0) {
    page.heading('Not known yet; simulation assumes its default, marked in the file');
    for (const { text, where } of missing) page.say(`- ${text} See ${where}.`);
  }
  page.heading('Next');
  page.pairs([
    ...(folder === '.' ? [] : [[`cd ${folder}`, 'the folder of your table'] as const]),
    ['npx standoff supply', 'does your supply suit a table, and what is not known yet'],
    [`npx standoff simulate ${PROGRAM_NAME}`, 'the first cut, on the desk'],
    ['npx standoff divider', 'what to build for its voltages'],
  ]);
  page.say(`${SETUP_NAME} is found by itself in the folder in which a command is typed.`);
  return page.text();
}

const short = (value: number): string => String(Number(value.toPrecision(6)));

/** Room around the first part, mm. */
const MARGIN_MM = 15;
const LEAD_MM = 8;

/** A hinge plate with a hole, as large as the sheet allows; on a very small sheet one straight cut. */
function firstProgram(answers: FirstAnswers): string {
  const number = (option: string) => {
    const one = FIRST_QUESTIONS.find((candidate) => candidate.option === option)!;
    return Number(answers[option] ?? firstRow(one).default);
  };
  const feed = Math.round(number('feed-mm-min'));
  const [sheet_x, sheet_y] = [number('sheet-width-mm'), number('sheet-height-mm')];
  const width = Math.min(120, sheet_x - 2 * MARGIN_MM - LEAD_MM);
  const height = Math.min(60, sheet_y - 2 * MARGIN_MM);
  const left = MARGIN_MM + LEAD_MM;
  const low = MARGIN_MM;
  const head = ['(the first program: an invented hinge plate; path in the middle of the kerf)', 'G21 G90 G17'];
  const off = ['M5', 'G4 P1'];
  if (width < 60 || height < 40) {
    const y = short(sheet_y / 2);
    return [
      ...head,
      `G0 X${short(sheet_x / 4)} Y${y}`,
      'M3',
      `G1 X${short((3 * sheet_x) / 4)} F${feed}`,
      ...off,
      'M30',
      '',
    ].join('\n');
  }
  const radius = 8;
  const [hole_x, hole_y] = [left + width / 3, low + height / 2];
  const hole = Math.max(1, Math.round(0.6 * feed));
  return [
    ...head,
    '(hole first, so that the plate still lies in its sheet)',
    `G0 X${short(hole_x)} Y${short(hole_y)}`,
    'M3',
    `G1 X${short(hole_x + radius)} F${hole}`,
    `G3 I${-radius} J0`,
    ...off,
    '(outline, clockwise, with a straight lead-in)',
    `G0 X${short(left - LEAD_MM)} Y${short(low + height / 2)}`,
    'M3',
    `G1 X${short(left)} F${feed}`,
    `Y${short(low + height)}`,
    `X${short(left + width)}`,
    `Y${short(low)}`,
    `X${short(left)}`,
    `Y${short(low + height / 2)}`,
    ...off,
    'M30',
    '',
  ].join('\n');
}
