import { Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import type { DutyReport } from '../../electrical/index.js';
import { advise } from '../../run/advice/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { type Advice, dutyOf, JobRun, summaryOf } from '../../run/job/index.js';
import { type Setup, writeScenario } from '../../run/setup/index.js';
import { openCsvWriter } from '../../run/trace/index.js';
import {
  LiveView,
  type RunSummary,
  type SimulatedScene,
  stillPicture,
  summaryText,
  ViewHistory,
} from '../../views/terminal/index.js';
import { asciiText, type TerminalStyle, terminalStyle } from '../../views/text/index.js';
import { collect, type Ended, EXIT, runStatus, SIGNALS } from '../base/command-line.js';
import { dutySentences, timeLineLines } from '../base/duty-text.js';
import { checkOutputs, writeFiles } from '../base/files.js';
import { blockDelete, DEFAULT_SEED, type FileJob, readJob, STANDARD_INPUT, seedOf } from '../base/inputs.js';
import { Page } from '../base/page.js';

/** The run as the closing report and its advice want it. */
function runSummaryOf({ job, judge, outcome }: JobRun, advice: readonly Advice[]): RunSummary {
  const { program, seed, setup } = job.scenario;
  const figures = judge.figures.figures();
  const requirements = judge.results(figures);
  return {
    program: program.name,
    seed,
    contours: job.plan.contours.length,
    conditions: conditionsOf(setup),
    outcome,
    parameters: setup.box,
    verdict: judge.verdict(outcome, figures, requirements),
    figures,
    requirements,
    advice,
  };
}

/**
 * Warnings, picture and closing report, as they are printed at the end of a run.
 * @param history what the picture is drawn from; undefined after the live view, which has shown it
 */
function reportText(
  run: JobRun,
  advice: readonly Advice[],
  history: ViewHistory<SimulatedScene> | undefined,
  style: TerminalStyle,
): string {
  const dangers = run.job.dangers.map((danger) => `warning: ${danger}`);
  const notes = run.job.warnings.map((warning) => `note: ${warning}`);
  const blocks = [
    plainText([...dangers, ...notes].join('\n'), style),
    history ? stillPicture(history, style.columns, style).join('\n') : '',
    dutyText(dutyOf(run), style),
    summaryText(runSummaryOf(run, advice), style.columns, style),
  ];
  return `${blocks.filter((block) => block !== '').join('\n\n')}\n`;
}

const plainText = (text: string, { unicode }: TerminalStyle): string => (unicode ? text : asciiText(text));

function dutyText(report: DutyReport, style: TerminalStyle): string {
  if (report.study.arc_s === 0) return '';
  const page = new Page(style).heading('Duty cycle');
  for (const { text, alarm } of dutySentences(report)) {
    if (alarm) page.alarm(text);
    else page.say(text);
  }
  return page
    .raw(timeLineLines(report, page.width, style))
    .text()
    .trimEnd();
}

/** What was assumed about sheet, arc and noise, with units; and what broke. */
function conditionsOf({ machine, world }: Setup): string[] {
  const { sheet, arc, noise, faults } = world;
  const tilt_percent = 100 * Math.sqrt(sheet.tilt_x ** 2 + sheet.tilt_y ** 2);
  return [
    `sheet ${machine.table.sheet_thickness_mm} mm, waves ±${sheet.wave_mm} mm over ${sheet.wave_length_mm} mm, ` +
      `tilt ${Number(tilt_percent.toFixed(2))} %, heat growth ${sheet.heat_growth_mm_per_s} mm/s`,
    `arc ${arc.slope_V_per_mm} V/mm, feed effect ${arc.feed_effect_V} V, kerf crossing ${arc.crossing_V} V`,
    `noise ${noise.white_V_rms_per_tick} V rms a tick, ripple ${noise.ripple_V_peak} V`,
    ...faults.map(({ kind, at_s }) => `fault ${kind} from ${at_s} s`),
  ];
}

/** Simulated seconds for a second of the clock in the live view. */
const SLOWEST = 0.01;
const FASTEST = 100;

function speedOf(text: string): number {
  const speed = Number(text);
  if (text.trim() !== '' && speed >= SLOWEST && speed <= FASTEST) return speed;
  throw new InvalidArgumentError(`Give a number from ${SLOWEST} to ${FASTEST}.`);
}

const command = () =>
  new Command('simulate')
    .description(
      'Cuts a program on a simulated table, through the control module that goes into the box, and judges every ' +
        'requirement of the box. Without a program and a setup: the example, hinge plates for a garden gate.',
    )
    .argument('[program]', 'RS-274 program, such as gate.nc; - reads it from standard input')
    .addOption(blockDelete())
    .option('--setup <file>', 'box, machine and world, as YAML (default: the example)')
    .addOption(
      new Option('--scenario <file>', 'cut a stored run again, instead of a program and a setup').conflicts([
        'setup',
        'blockDelete',
      ]),
    )
    .option('--seed <n>', `seed of everything random, whole number (default: ${DEFAULT_SEED})`, seedOf)
    .option(
      '--set <name=value>',
      'change a value, such as pierce_ms=400 or world.noise.white_V_rms_per_tick=0; may be repeated',
      collect,
    )
    .option('--trace <file>', 'record every millisecond as .csv or .csv.gz')
    .option('--store <file>', 'store the run as it was asked for, for --scenario')
    .option('--force', 'write over an existing file')
    .option('--no-advice', 'try no change after a cut with trouble')
    .option('--json', 'print the summary as JSON and nothing else')
    .addOption(new Option('--live', 'watch the cut (default on a terminal)').conflicts(['still', 'json']))
    .addOption(new Option('--still', 'print a picture at the end (default elsewhere)').conflicts(['live', 'json']))
    .option('--speed <n>', 'speed of the live view, times real time (default: 1)', speedOf)
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 finished and every requirement kept, 1 a requirement broken, 2 bad input,' +
        '\n3 a mistake in Standoff, 4 not finished (box or operator stopped it, it took far too long, or q),' +
        '\n130 broken off by Ctrl-C.',
    );

/** `standoff simulate`. */
export const simulateCommand = (ended: Ended) =>
  command().action(async (program, options) => ended(await simulate(program, options)));

type SimulateOptions = ReturnType<ReturnType<typeof command>['opts']>;

/**
 * Cuts a program and prints what came of it.
 * @returns the exit status
 * @throws StandoffError for bad input, before anything is run
 */
async function simulate(program_file: string | undefined, options: SimulateOptions): Promise<number> {
  if (program_file !== undefined && options.scenario !== undefined) {
    const what = `the program ${program_file} and the stored run ${options.scenario} were both given`;
    throw new StandoffError('two-programs', what, 'a stored run holds its program: give one of the two');
  }
  const style = terminalStyle(process.env, process.stdout, options.plain);
  // The live view takes keys from where the program comes from.
  const piped = program_file === STANDARD_INPUT;
  const live = wantsLive(options, style.live && !piped, process.stdout.isTTY === true && !piped);
  const job = readJob(program_file, options);
  for (const danger of job.dangers) process.stderr.write(`${plainText(`warning: ${danger}`, style)}\n`);
  const module = loadControlModule();
  const run = new JobRun(job, module);
  const history = new ViewHistory(sceneOf(run));
  if (!options.json) run.addSink({ block: (block) => history.add(block) });
  const trace = openOutputs(job, run, options);
  if (trace) run.addSink(trace);
  let interrupted = false;
  try {
    interrupted = live ? await watch(run, history, style, options.speed) : await runThrough(run);
  } finally {
    trace?.close();
  }
  const advice = options.advice ? advise(run, module) : [];
  if (options.json) {
    process.stdout.write(`${JSON.stringify(summaryOf(run, advice), undefined, 2)}\n`);
  } else {
    process.stdout.write(reportText(run, advice, live ? undefined : history, style));
  }
  if (interrupted) return EXIT.interrupted;
  return runStatus(run.verdict);
}

/**
 * Whether the cut is watched as it goes: when asked for, else on a terminal that can be redrawn.
 * @param redrawable a terminal, not `TERM=dumb`, and no `CI`
 * @throws StandoffError `no-terminal` for --live without a terminal
 */
export function wantsLive(
  options: Pick<SimulateOptions, 'live' | 'still' | 'json'>,
  redrawable: boolean,
  terminal: boolean,
): boolean {
  if (options.live && !terminal) {
    throw new StandoffError('no-terminal', '--live needs a terminal to draw on', 'leave it out, or give --still');
  }
  return options.live ?? (redrawable && !options.still && !options.json);
}

function sceneOf({ job: { scenario, plan }, context }: JobRun): SimulatedScene {
  const { box, machine } = scenario.setup;
  return {
    program: scenario.program.name,
    contours: plan.contours.length,
    cut_height_mm: box.cut_height_mm,
    told_V: box.target_V,
    pierce_height_mm: box.pierce_height_mm,
    thickness_mm: machine.table.sheet_thickness_mm,
    tolerance_mm: context.goals.following_p999_mm,
  };
}

/**
 * Stores the run and opens its trace. Names are looked at before anything is written.
 * @returns the trace, to be closed at the end of the run
 * @throws StandoffError as checkOutputs
 */
function openOutputs(
  { scenario, files }: FileJob,
  { module_sha256, world_sha256 }: JobRun,
  options: Pick<SimulateOptions, 'trace' | 'store' | 'force'>,
) {
  const force = options.force === true;
  const trace = { option: '--trace', path: options.trace, endings: ['.csv', '.csv.gz'] };
  const store = { option: '--store', path: options.store, endings: ['.yaml', '.yml'] };
  checkOutputs([trace, store], files, force);
  writeFiles([{ ...store, text: () => writeScenario(scenario) }], files, force);
  if (trace.path === undefined) return undefined;
  // Seed, modules, program and every parameter of the box: what a reader needs to judge the run.
  const { seed, program, setup } = scenario;
  const parameters = Object.entries(setup.box).map(([name, value]) => [`box.${name}`, value] as const);
  const head = { seed, module_sha256, world_sha256, program: program.name, ...Object.fromEntries(parameters) };
  return openCsvWriter(trace.path, head, force);
}

/** Runs in the live view. @returns whether it was interrupted; q ends the run too, before its end */
async function watch(run: JobRun, history: ViewHistory<SimulatedScene>, style: TerminalStyle, speed = 1) {
  const { stdin, stdout } = process;
  const ended = await new LiveView({ source: run, history, style, stdin, stdout, speed }).run();
  if (ended === 'quit') run.breakOff('ended with q');
  if (ended === 'interrupted') run.breakOff('broken off by Ctrl-C');
  return ended === 'interrupted';
}

/** Runs to the end or to Ctrl-C. @returns whether it was interrupted */
async function runThrough(run: JobRun): Promise<boolean> {
  let interrupted = false;
  const onSignal = () => {
    interrupted = true;
  };
  for (const signal of SIGNALS) process.once(signal, onSignal);
  while (!run.finished && !interrupted) {
    run.advance();
    await new Promise((resolve) => setImmediate(resolve));
  }
  for (const signal of SIGNALS) process.off(signal, onSignal);
  if (interrupted) run.breakOff('broken off by Ctrl-C');
  return interrupted;
}
