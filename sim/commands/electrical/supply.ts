import { createInterface } from 'node:readline';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { judgeSupply, type SupplyAnswers, type SupplyFit, sourceText } from '../../electrical/index.js';
import { type TerminalStyle, terminalStyle } from '../../views/terminal/index.js';
import { EXIT } from '../base/exit.js';
import { readSetupOptions } from '../base/inputs.js';
import { collect } from '../base/option-values.js';
import { HIGH_VOLTAGE_CAUTIONS, Page } from '../base/page.js';
import { answersOf, hintOf, nothingKnown, QUESTIONS, readAnswer } from './supply-questions.js';

/** `standoff supply` with its options. */
export const supplyCommand = () =>
  new Command('supply')
    .summary('ask whether a cutting supply is fit for a table')
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

export type SupplyOptions = ReturnType<ReturnType<typeof supplyCommand>['opts']>;

/**
 * Judges a supply and prints why.
 * @returns the exit status
 * @throws StandoffError for bad input
 */
export async function supply(options: SupplyOptions): Promise<number> {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const { machine } = readSetupOptions(options);
  const answers = options.ask ? await ask(nothingKnown(machine)) : answersOf(machine);
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
export function supplyPage({ fit, findings, input }: SupplyFit, style: TerminalStyle): string {
  const page = new Page(style);
  const verdict = fit === 'fit if' ? 'FIT, on the conditions below' : fit.toUpperCase();
  if (fit === 'not fit') page.alarm(`${verdict} for a table with this box.`);
  else page.strong(`${verdict} for a table with this box.`);
  page.heading('Reasons');
  for (const { matter, fit: one, reason, source } of findings) {
    const text = `${one}: ${matter}: ${reason}${source ? ` [${sourceText(source)}]` : ''}`;
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
