import { existsSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../base/index.js';
import { loadControlModule, WasmController } from '../controller/index.js';
import { type ExploreResult, exploreAll, INVARIANTS, modeGraph, NOT_REACHED } from '../explore/index.js';
import { asciiText, terminalStyle } from '../report/index.js';
import { counted, wrapText } from '../report/text.js';
import { EXIT } from './exit.js';
import { wholeNumber } from './option-values.js';
import { checkEnding, refuseExisting } from './output-name.js';

/** `standoff explore` with its options. */
export const exploreCommand = () =>
  new Command('explore')
    .summary('walk through everything that the box can do')
    .description(
      'Runs the control module from every state that its sequence can reach, under everything that can happen in a tick: ' +
        'every combination of inputs, timers of any length, any height of Z. Takes some seconds.',
    )
    .option('--module <file>', 'another control module, such as one with a planted defect')
    .option('--workers <n>', 'threads (default: one a core)', wholeNumber(1, 64))
    .option('--graph <file>', 'write the changes of mode that were found, as .mmd')
    .option('--force', 'write over a file that exists')
    .option('--json', 'print the result as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText('after', '\nExit status: 0 nothing was broken, 1 something was, 2 bad input.');

export type ExploreOptions = ReturnType<ReturnType<typeof exploreCommand>['opts']>;

/** @returns the exit status @throws StandoffError for bad input, before anything is run */
export async function explore(options: ExploreOptions): Promise<number> {
  const { graph, module } = options;
  if (module !== undefined && !existsSync(module)) {
    throw new StandoffError('module-missing', `no control module at ${module}`, 'check the name');
  }
  if (module !== undefined) refuseOther(module);
  if (graph !== undefined) {
    checkEnding(`--graph ${graph}`, graph, ['.mmd']);
    refuseExisting(graph, options.force === true);
  }
  const waiting = options.json !== true && process.stderr.isTTY === true;
  if (waiting) process.stderr.write('walking through the states …');
  const results = await exploreAll(options.workers ?? cpus().length, module);
  if (waiting) process.stderr.write('\r\x1b[K');
  const next_modes = results[0]!.next_modes.map((_, mode) =>
    results.reduce((sum, result) => sum | result.next_modes[mode]!, 0),
  );
  if (graph !== undefined) writeFileSync(graph, modeGraph(next_modes));
  if (options.json) process.stdout.write(`${JSON.stringify({ format: 'standoff exploration 1', results }, null, 1)}\n`);
  else {
    const style = terminalStyle(process.env, process.stdout, options.plain);
    const text = exploreText(results, style.columns);
    process.stdout.write(style.unicode ? text : asciiText(text));
  }
  return results.some(({ violations }) => violations.length > 0) ? EXIT.broken : EXIT.kept;
}

/** Before any thread is started. @throws StandoffError `module-format` */
function refuseOther(file: string): void {
  try {
    new WasmController(loadControlModule(file)).tick();
  } catch {
    throw new StandoffError('module-format', `${file} is no control module`, 'name one that npm run build:module made');
  }
}

/** What was explored and what was found, for a person. */
export function exploreText(results: readonly ExploreResult[], columns: number): string {
  const lines: string[] = [];
  const say = (text: string, indent = 2) => lines.push(...wrapText(text, columns, indent));
  const states = results.reduce((sum, result) => sum + result.states, 0);
  const transitions = results.reduce((sum, result) => sum + result.transitions, 0);
  const time_s = results.reduce((sum, result) => sum + result.time_ms, 0) / 1000;
  const broken = new Map(
    results.flatMap((result) => result.violations.map((violation) => [violation.invariant, violation])),
  );
  say(
    `${states} states, ${(transitions / 1e6).toFixed(0)} million ticks of the module (${(transitions / time_s / 1e6).toFixed(1)} million a second ` +
      `and thread): ${broken.size === 0 ? `each of ${INVARIANTS.length} rules held in every tick` : `${counted(broken.size, 'RULE', 'RULES')} BROKEN`}.`,
  );
  for (const { invariant, statement, story, replay } of broken.values()) {
    lines.push('');
    say(`BROKEN: ${invariant}: ${statement}.`);
    story.forEach((step, index) => {
      say(`${index + 1}. ${step.happens} -> ${step.box}`, 4);
    });
    if (replay.broken !== null)
      say(
        `Replayed from power-up with true timers: ${replay.broken} breaks after ${counted(replay.ticks, 'tick')} of 1 ms.`,
      );
    else {
      say(
        `Replayed from power-up with true timers: not confirmed; ${replay.steps} of ${story.length} steps came about. It may need ` +
          'another timing, or be possible only because timers were let run out at any moment.',
      );
    }
  }
  lines.push('');
  const missing = [
    ...new Set(results.flatMap((result) => result.reached.map(({ kind, name }) => `${kind} ${name}`))),
  ].filter((word) =>
    results.every((result) => result.reached.every((one) => `${one.kind} ${one.name}` !== word || one.ticks === null)),
  );
  say(
    `Reached: every mode, stage, hold, fault and refusal${missing.length === 0 ? '' : ` but ${missing.join(', ')}`}.`,
  );
  for (const word of missing) if (NOT_REACHED[word]) say(`${word}: ${NOT_REACHED[word]}.`);
  lines.push('');
  say(
    'Explored: all combinations of the inputs that a tick comes to read (tests try the others at random and find nothing new); ' +
      'every timer both just begun and run out, so lengths that the box does ' +
      'not even have are covered; switches that chatter for any time; eight kinds of arc voltage; every height of Z that the sequence ' +
      'asks about; with and without the supply’s contact, with a fixed and a learned target.',
  );
  say('Not explored: how well the standoff is held, and everything outside the control module.');
  return `${lines.join('\n')}\n`;
}
