import { createInterface } from 'node:readline';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { judgeSupply, type SupplyAnswers, type SupplyFit, sourceText } from '../../electrical/index.js';
import { quantityAt } from '../../run/setup/index.js';
import { type TerminalStyle, terminalStyle } from '../../views/text/index.js';
import { MACHINE_ROWS, type MachineConfig, type Row } from '../../world/plant/index.js';
import { collect, type Ended, EXIT } from '../base/command-line.js';
import { readSetupOptions } from '../base/inputs.js';
import { HIGH_VOLTAGE_CAUTIONS, Page } from '../base/page.js';

const command = () =>
  new Command('supply')
    .description(
      'Judges a supply by its data plate and manual: start, trigger, voltage tap, no-load voltage, air, duty cycle, ' +
        'mains circuit. From the supply in a setup, or by questions; each answer comes with its reason.',
    )
    .option('--setup <file>', 'setup with the supply in its machine section (default: the example)')
    .option('--set <name=value>', 'change a value, such as machine.supply.breaker_A=16; may be repeated', collect)
    .option('--ask', 'ask one question after the other; an empty answer is "not known"')
    .option('--json', 'print the judgement as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nExit status: 0 fit, or fit on conditions; 1 not fit; 2 bad input.');

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
  const { machine } = readSetupOptions(options);
  const answers = options.ask ? await ask(nothingKnown(machine)) : machine.supply;
  const found = judgeSupply(answers);
  const json = { format: 'standoff supply 1', answers: named(answers), ...found };
  process.stdout.write(options.json ? `${JSON.stringify(json, undefined, 2)}\n` : supplyPage(found, style));
  return found.fit === 'not fit' ? EXIT.broken : EXIT.kept;
}

const named = (answers: SupplyAnswers) =>
  Object.fromEntries(
    [...QUESTIONS.map(({ name }) => name), 'efficiency', 'power_factor'].map((name) => [
      name,
      answers[name as keyof SupplyAnswers],
    ]),
  );

/** Questions go to the error stream, so that the output can be piped. On a terminal a bad answer is asked again. */
async function ask(start: SupplyAnswers): Promise<SupplyAnswers> {
  const again = process.stdin.isTTY === true;
  const lines = createInterface({ input: process.stdin })[Symbol.asyncIterator]();
  let answers = start;
  for (const [index, { name, text }] of QUESTIONS.entries()) {
    for (;;) {
      process.stderr.write(`${index + 1}/${QUESTIONS.length} ${text} [${hintOf(name)}] `);
      const { value, done } = await lines.next();
      if (done) {
        process.stderr.write('\n');
        return answers;
      }
      try {
        answers = { ...answers, [name]: readAnswer(name, index + 1, value) };
        break;
      } catch (error) {
        if (!again || !(error instanceof StandoffError)) throw error;
        process.stderr.write(`${error.what}: ${error.remedy}\n`);
      }
    }
    if (!again) process.stderr.write('\n');
  }
  await lines.return?.();
  return answers;
}

/** The judgement for a person. */
function supplyPage({ fit, findings, input }: SupplyFit, style: TerminalStyle): string {
  const page = new Page(style);
  const verdict = fit === 'fit if' ? 'FIT, on the conditions below,' : fit.toUpperCase();
  if (fit === 'not fit') page.alarm(`${verdict} for a table with this box.`);
  else page.strong(`${verdict} for a table with this box.`);
  page.heading('Reasons');
  for (const { matter, fit: one, reason, source } of findings) {
    const verdict_of_matter = one === 'fit if' ? 'fit if' : `${one}:`;
    const text = `${matter}: ${verdict_of_matter} ${reason}${source ? ` [${sourceText(source)}]` : ''}`;
    if (one === 'not fit') page.alarm(text);
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

type Asked = Exclude<keyof SupplyAnswers, 'efficiency' | 'power_factor'>;

/** What is asked, in the order of asking; the answer's range and unit are those of the machine section's row. */
export const QUESTIONS: readonly { readonly name: Asked; readonly text: string }[] = [
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

const ROWS: ReadonlyMap<string, Row> = new Map(MACHINE_ROWS.map((row) => [row.path, row]));
/** A supply on the market may lie outside what the box can be built for; it is then judged, not refused. */
const WIDER: Partial<Record<Asked, Partial<Row>>> = { no_load_V: { min: 0, max: 5000 } };
const rowOf = (name: Asked): Row => ({ ...ROWS.get(`supply.${name}`)!, ...WIDER[name] });

/** `yes or no`, or the range with its unit. */
function hintOf(name: Asked): string {
  const row = rowOf(name);
  if (row.kind === 'boolean') return 'y/n';
  return row.choices ? row.choices.join(' or ') : `${row.min}…${row.max} ${row.unit}`;
}

/**
 * One answer; an empty one or `?` is `not known`.
 * @throws StandoffError `option-…` or `answer-yes-no`, with the question's number
 */
export function readAnswer(name: Asked, number: number, text: string): boolean | number | null {
  const row = rowOf(name);
  const word = text.trim().toLowerCase();
  if (word === '' || word === '?') return null;
  const place = `answer ${number}`;
  if (row.kind === 'boolean') {
    if (['y', 'yes'].includes(word)) return true;
    if (['n', 'no'].includes(word)) return false;
    throw new StandoffError(
      'answer-yes-no',
      `${place}: ${text.trim()} is neither yes nor no`,
      'answer y, n, or ? if not known',
    );
  }
  const value = quantityAt(place, row, text);
  if (row.choices && !row.choices.includes(value)) {
    throw new StandoffError(
      'answer-choice',
      `${place}: ${text.trim()} is not among ${row.choices.join(', ')}`,
      'give one of them',
    );
  }
  return value;
}

/** Answers with nothing known but what is assumed. */
function nothingKnown({ supply }: MachineConfig): SupplyAnswers {
  const unknown = Object.fromEntries(QUESTIONS.map(({ name }) => [name, null])) as Record<Asked, null>;
  return { ...unknown, efficiency: supply.efficiency, power_factor: supply.power_factor };
}
