import { Command, Option } from '@commander-js/extra-typings';
import {
  BLANK_WORKSHEET,
  DEAD_V,
  deriveWorksheet,
  judgeSupply,
  readWorksheet,
  type SupplyAnswers,
  type SupplyJudgement,
  type SupplyQuestion,
  sourceText,
  type Worksheet,
} from '../../electrical/index.js';
import { statedPaths } from '../../run/setup/index.js';
import { type TerminalStyle, terminalStyle } from '../../views/text/index.js';
import { MACHINE_ROWS, type MachineConfig, type Row } from '../../world/plant/index.js';
import { askAll, hintOf, readAnswer } from '../base/ask.js';
import { collect, type Ended, EXIT } from '../base/command-line.js';
import { readText } from '../base/files.js';
import { readSetupOptions, setupFile } from '../base/inputs.js';
import { HIGH_VOLTAGE_CAUTIONS, Page } from '../base/page.js';

/** These print or read pairs, and judge no supply. */
const OF_PAIRS = ['worksheet', 'pairs'];

const command = () =>
  new Command('supply')
    .description(
      'Judges a supply by its data plate and manual: start, trigger, voltage tap, no-load voltage, air, duty cycle, ' +
        'mains circuit. From the supply in a setup, or by questions; each answer comes with its reason.',
    )
    .option('--setup <file>', 'setup with the supply in its machine section (default: the example)')
    .option('--set <name=value>', 'change a value, such as machine.supply.breaker_A=16; may be repeated', collect)
    .addOption(
      new Option('--ask', 'ask one question after the other; an empty answer is "not known"').conflicts(OF_PAIRS),
    )
    .addOption(
      new Option('--tap <how>', 'how the conductors of the arc voltage are known')
        .choices(['documented', 'measured', 'none'])
        .conflicts(OF_PAIRS),
    )
    .addOption(
      new Option('--worksheet', 'print a blank list of pairs to measure with the plug pulled, as CSV').conflicts(
        'pairs',
      ),
    )
    .option('--pairs <file>', 'which conductor is which, from that list filled in')
    .option('--json', 'print the judgement as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nA value that the setup does not state is not known. Exit status: 0 suitable, or on conditions; 1 not suitable;' +
        '\n2 bad input; 5 not known yet.',
    );

/** `standoff supply`. */
export const supplyCommand = (ended: Ended) => command().action(async (options) => ended(await supply(options)));

type SupplyOptions = ReturnType<ReturnType<typeof command>['opts']>;

/**
 * Judges a supply and prints why.
 * @returns the exit status
 * @throws StandoffError for bad input
 */
async function supply(options: SupplyOptions): Promise<number> {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  if (options.worksheet) {
    process.stdout.write(BLANK_WORKSHEET);
    return EXIT.kept;
  }
  if (options.pairs !== undefined) return pairsOf(options.pairs, options, style);
  const given = await answersOf(options);
  if (given === undefined) {
    process.stderr.write('\nstandoff: broken off: nothing was judged\n');
    return EXIT.interrupted;
  }
  const answers = withTap(given, options.tap);
  const found = judgeSupply(answers);
  const json = { format: 'standoff supply 2', answers: named(answers), ...found };
  const page = () => supplyPage(found, judgedText(options), style);
  process.stdout.write(options.json ? `${JSON.stringify(json, undefined, 2)}\n` : page());
  return STATUS[found.verdict];
}

const STATUS = {
  suitable: EXIT.kept,
  'suitable if': EXIT.kept,
  'not suitable': EXIT.broken,
  'not known yet': EXIT.unknown,
} as const;

/** From questions, or what the setup and the command line state; the example states all of it. */
async function answersOf(options: SupplyOptions): Promise<SupplyAnswers | undefined> {
  const { machine } = readSetupOptions(options);
  if (options.ask) return ask(nothingKnown(machine));
  const file = setupFile(options.setup);
  if (file === undefined) return machine.supply;
  const stated = statedPaths(readText(file, 'setup'), file);
  const set = (options.set ?? []).map((word) => word.split('=')[0]?.trim());
  const isKnown = (path: string) => stated.has(path) || set.includes(path);
  const known = QUESTIONS.filter(({ name }) => isKnown(`machine.supply.${name}`)).map(({ name }) => name);
  return { ...nothingKnown(machine), ...Object.fromEntries(known.map((name) => [name, machine.supply[name]])) };
}

function withTap(answers: SupplyAnswers, how: SupplyOptions['tap']): SupplyAnswers {
  if (how === undefined) return answers;
  return { ...answers, raw_voltage_terminals: how === 'measured' ? how : how === 'documented' };
}

function judgedText({ ask: asked, setup }: SupplyOptions): string {
  if (asked) return 'Judged: the supply of your answers.';
  const file = setupFile(setup);
  return file === undefined
    ? 'Judged: the supply of the example, which is invented. --ask asks for yours, --setup reads it.'
    : `Judged: the supply in ${file}; what it does not state is not known.`;
}

const named = (answers: SupplyAnswers) =>
  Object.fromEntries(
    [...QUESTIONS.map(({ name }) => name), 'efficiency', 'power_factor'].map((name) => [
      name,
      answers[name as keyof SupplyAnswers],
    ]),
  );

/** The answers to all questions; undefined when Ctrl-C broke them off. */
async function ask(start: SupplyAnswers): Promise<SupplyAnswers | undefined> {
  const found = await askAll(
    QUESTIONS.map(({ name, text }) => ({
      text: `${text} [${name === TAP ? 'y/n, m: found by measuring' : hintOf(rowOf(name))}]`,
      read: (answer: string, number: number) => answerTo(name, number, answer),
    })),
  );
  return found && { ...start, ...Object.fromEntries(found.map((answer, at) => [QUESTIONS[at]!.name, answer])) };
}

/** The judgement for a person. */
function supplyPage(
  { verdict, findings, missing, input }: SupplyJudgement,
  judged: string,
  style: TerminalStyle,
): string {
  const page = new Page(style).quiet(judged);
  const said = verdict === 'suitable if' ? 'SUITABLE, on the conditions below,' : verdict.toUpperCase();
  const line = `${said}${verdict === 'not known yet' ? ': whether it suits a table with this box' : ' for a table with this box'}.`;
  if (verdict === 'suitable' || verdict === 'suitable if') page.strong(line);
  else page.alarm(line);
  if (missing.length > 0) {
    page.heading('Questions that are open, the one that matters most first');
    for (const [at, name] of missing.entries()) page.say(`${at + 1}. ${questionOf(name)} [${name}]`);
  }
  page.heading('Reasons');
  for (const { matter, verdict: one, reason, source } of findings) {
    const verdict_of_matter = one === 'suitable if' ? 'suitable if' : `${one}:`;
    const text = `${matter}: ${verdict_of_matter} ${reason}${source ? ` [${sourceText(source)}]` : ''}`;
    if (one === 'not suitable') page.alarm(text);
    else page.say(text);
  }
  if (input) {
    page.heading('Input').pairs([
      [
        'load voltage',
        `${input.load_V.toFixed(0)} V at ${input.cut_A} A, conventional: a rating's, not a measured one`,
      ],
      [
        'input current',
        `${input.input_A.toFixed(1)} A, with efficiency ${input.efficiency} and power factor ${input.power_factor} assumed`,
      ],
      ['to the breaker', input.margin_A === null ? 'not known' : `${input.margin_A.toFixed(1)} A`],
      ['rectified bus', `about ${input.rectified_bus_V.toFixed(0)} V inside; it keeps charge when the supply is off`],
    ]);
  }
  page.heading('Cautions');
  for (const caution of HIGH_VOLTAGE_CAUTIONS) page.quiet(caution);
  page.quiet(
    'A machine should fall to 60 V or less within 5 s of switching off, or carry a warning with the wait (IEC 60204-1, second hand): a warning on yours counts more than this line.',
  );
  return page.text();
}

/** What is asked, in the order of asking; the answer's range and unit are those of the machine section's row. */
export const QUESTIONS: readonly { readonly name: SupplyQuestion; readonly text: string }[] = [
  { name: 'high_frequency_start', text: 'Is the pilot arc lit by high frequency (not by a moving electrode)?' },
  { name: 'trigger_latching', text: 'Does the arc go on when the trigger is released (latching)?' },
  { name: 'air_interlock', text: 'Does it refuse to fire without air pressure?' },
  { name: 'raw_voltage_terminals', text: 'Does its maker show where the undivided arc voltage can be taken?' },
  { name: 'no_load_V', text: 'Highest no-load voltage, from the data plate (U0)?' },
  { name: 'rated_A', text: 'Rated cutting current (I2)?' },
  { name: 'duty_percent', text: 'Duty cycle at that current (X)?' },
  { name: 'cut_A', text: 'Current that will be set?' },
  { name: 'mains_V', text: 'Mains voltage (U1), between phases for three?' },
  { name: 'phases', text: 'Phases, 1 or 3?' },
  { name: 'breaker_A', text: 'Rating of the breaker of that circuit?' },
];

const questionOf = (name: SupplyQuestion): string => QUESTIONS.find((one) => one.name === name)!.text;

const ROWS: ReadonlyMap<string, Row> = new Map(MACHINE_ROWS.map((row) => [row.path, row]));
/** A supply on the market may lie outside what the box can be built for; it is then judged, not refused. */
const WIDER: Partial<Record<SupplyQuestion, Partial<Row>>> = { no_load_V: { min: 0, max: 5000 } };
const rowOf = (name: SupplyQuestion): Row => ({ ...ROWS.get(`supply.${name}`)!, ...WIDER[name] });

/** The one question with a third answer. */
const TAP = 'raw_voltage_terminals' satisfies SupplyQuestion;

/** One answer; null: not known. @throws StandoffError as readAnswer, with the question's number */
function answerTo(name: SupplyQuestion, number: number, text: string): boolean | number | 'measured' | null {
  if (name === TAP && ['m', 'measured'].includes(text.trim().toLowerCase())) return 'measured';
  return readAnswer(rowOf(name), `answer ${number}`, text) ?? null;
}

/** Answers with nothing known but what is assumed. */
function nothingKnown({ supply }: MachineConfig): SupplyAnswers {
  const unknown = Object.fromEntries(QUESTIONS.map(({ name }) => [name, null])) as Record<SupplyQuestion, null>;
  return { ...unknown, efficiency: supply.efficiency, power_factor: supply.power_factor };
}

/**
 * Prints which conductor is which.
 * @returns the exit status: 1 when pairs contradict, 5 when something is still to be measured
 * @throws StandoffError for a list that cannot be read
 */
function pairsOf(file: string, options: { readonly json?: true }, style: TerminalStyle): number {
  const found = deriveWorksheet(readWorksheet(readText(file, 'list of pairs'), file));
  const json = { format: 'standoff pairs 1', ...found };
  process.stdout.write(options.json ? `${JSON.stringify(json, undefined, 2)}\n` : pairsPage(found, style));
  if (found.contradictions.length > 0) return EXIT.broken;
  return found.open.length > 0 ? EXIT.unknown : EXIT.kept;
}

function pairsPage({ electrode, work, trigger, contradictions, open }: Worksheet, style: TerminalStyle): string {
  const page = new Page(style);
  if (contradictions.length > 0) page.alarm('CONTRADICTION: nothing below may be wired by.');
  else if (open.length > 0) page.alarm('NOT KNOWN YET: pairs are missing.');
  else page.strong('Found: electrode, work and trigger; no two pairs contradict each other.');
  for (const sentence of contradictions) page.alarm(`- ${sentence}.`);
  for (const sentence of open) page.say(`- ${sentence}.`);
  page.heading('Conductors').pairs([
    ['electrode', electrode.join(', ') || 'not found'],
    ['work', work.join(', ') || 'not found'],
    ['trigger', trigger.map((pair) => pair.join(' and ')).join('; ') || 'not found'],
  ]);
  page.heading('What this does not say');
  page.say(
    'A beep tells metal, not what a conductor carries under power: a filter, a coil or another circuit may hang on it. ' +
      `Volts below ${DEAD_V}, and volts left empty, are taken for none. Next: standoff supply --tap measured, with --setup or --ask.`,
  );
  page.heading('Cautions');
  for (const caution of HIGH_VOLTAGE_CAUTIONS) page.quiet(caution);
  return page.text();
}
