import { Command, InvalidArgumentError } from '@commander-js/extra-typings';
import { TICKS_PER_S } from '../../base/index.js';
import { DUTY_PERIOD_SOURCE, DUTY_RULE_SOURCE, dutyReport, repeatedArcs, sourceText } from '../../electrical/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { JobRun } from '../../run/job/index.js';
import { STOPPER_WORDS } from '../../views/terminal/index.js';
import { terminalStyle } from '../../views/text/index.js';
import { collect, type Ended, EXIT } from '../base/command-line.js';
import { dutySentences, timeLineLines, USED_WORDS } from '../base/duty-text.js';
import { blockDelete, readJob } from '../base/inputs.js';
import { HIGH_VOLTAGE_CAUTIONS, Page } from '../base/page.js';

const MOST_REPEATS = 1000;
const MOST_CHANGE_S = 86_400;
const DEFAULT_CHANGE_S = 60;

function within(most: number, whole: boolean) {
  return (text: string): number => {
    const value = Number(text);
    const least = whole ? 1 : 0;
    if (text.trim() !== '' && value >= least && value <= most && (!whole || Number.isInteger(value))) return value;
    throw new InvalidArgumentError(`Give a ${whole ? 'whole ' : ''}number from ${least} to ${most}.`);
  };
}

const command = () =>
  new Command('duty')
    .description(
      'Cuts a program in simulation and holds its arc time against the duty cycle of the supply at the current that ' +
        'is set: where to pause, for how long, on a time line.',
    )
    .argument('[program]', 'RS-274 program (default: the example)')
    .addOption(blockDelete())
    .option('--setup <file>', 'box, machine and world, as YAML (default: the example)')
    .option('--set <name=value>', 'change a value, such as machine.supply.cut_A=30; may be repeated', collect)
    .option('--repeat <n>', 'cut the program this many times in a row (default: 1)', within(MOST_REPEATS, true))
    .option(
      '--change-s <s>',
      `time between two of them to change the sheet, s (default: ${DEFAULT_CHANGE_S})`,
      within(MOST_CHANGE_S, false),
    )
    .option('--json', 'print the study as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 within the duty cycle as it stands, 1 only with pauses or not at all, 2 bad input,' +
        '\n4 the cut stopped, and up to there it is within the duty cycle.',
    );

/** `standoff duty`. */
export const dutyCommand = (ended: Ended) => command().action((program, options) => ended(duty(program, options)));

type DutyOptions = ReturnType<ReturnType<typeof command>['opts']>;

/**
 * Cuts, counts the arc time, and prints what the duty cycle asks for.
 * @returns the exit status
 * @throws StandoffError for bad input
 */
function duty(program_file: string | undefined, options: DutyOptions): number {
  const style = terminalStyle(process.env, process.stdout, options.plain);
  const job = readJob(program_file, options);
  const run = new JobRun(job, loadControlModule());
  while (!run.finished) run.advance();
  const { ticks } = run.outcome;
  const { word, stop } = run.verdict;
  const run_s = ticks / TICKS_PER_S;
  const repeats = options.repeat ?? 1;
  const change_s = options.changeS ?? DEFAULT_CHANGE_S;
  const arcs = repeatedArcs(run.arcs, run_s + change_s, repeats);
  const report = dutyReport(arcs, repeats * run_s + (repeats - 1) * change_s, job.scenario.setup.machine.supply);
  const { pauses, too_long } = report.study;
  if (options.json) {
    const json = {
      format: 'standoff duty 2',
      program: job.scenario.program.name,
      verdict: word,
      stop,
      repeats,
      ...report,
    };
    process.stdout.write(`${JSON.stringify(json, undefined, 2)}\n`);
  } else {
    const page = new Page(style);
    for (const warning of job.warnings) page.quiet(`note: ${warning}`);
    page.say(
      `Tried: ${job.scenario.program.name}, cut ${repeats === 1 ? 'once' : `${repeats} times, ${change_s} s in between`}; one cut takes ${run_s.toFixed(1)} s, ${report.study.arc_s.toFixed(1)} s of arc in all.`,
    );
    if (stop)
      page.alarm(
        `STOPPED by ${STOPPER_WORDS[stop.by]}, line ${stop.line}: ${stop.cause}, ${stop.why}. Arc time up to there only.`,
      );
    for (const { text, alarm } of dutySentences(report)) {
      if (alarm) page.alarm(text);
      else page.strong(text);
    }
    page.heading('Time line').raw(timeLineLines(report, page.width, style));
    page.quiet(USED_WORDS);
    page.quiet(
      `Period: ${sourceText(DUTY_PERIOD_SOURCE)}. Other currents: ${sourceText(DUTY_RULE_SOURCE)}. The manual of the supply counts more. The pilot arc is not counted.`,
    );
    page.heading('Cautions');
    page.quiet(HIGH_VOLTAGE_CAUTIONS[0]);
    process.stdout.write(page.text());
  }
  if (pauses.length > 0 || too_long.length > 0) return EXIT.broken;
  return stop ? EXIT.unfinished : EXIT.kept;
}
