import { existsSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { Command } from '@commander-js/extra-typings';
import { StandoffError } from '../../base/index.js';
import { exploreAll, modeGraph } from '../../explore/index.js';
import { loadControlModule, WasmController } from '../../run/controller/index.js';
import { asciiText, terminalStyle } from '../../views/text/index.js';
import { EXIT } from '../base/exit.js';
import { interruptible } from '../base/interrupt.js';
import { wholeNumber } from '../base/option-values.js';
import { checkEnding, refuseExisting } from '../base/output-name.js';
import { anythingFound, exploreText } from './explore-text.js';

/** `standoff explore` with its options. */
export const exploreCommand = () =>
  new Command('explore')
    .summary('explore through everything that the box can do')
    .description(
      'Runs the control module from every state that its sequence can reach, under everything that can happen in a tick: ' +
        'every combination of inputs, timers of any length, the heights of Z that the sequence asks about. Takes some seconds.',
    )
    .option('--module <file>', 'another control module, such as one with a planted defect')
    .option('--workers <n>', 'threads (default: one a core)', wholeNumber(1, 64))
    .option('--graph <file>', 'write the changes of mode that were found, as .mmd')
    .option('--force', 'write over a file that exists')
    .option('--json', 'print the result as JSON and nothing else')
    .option('--plain', 'ASCII only, without colour')
    .addHelpText(
      'after',
      '\nExit status: 0 nothing was found, 1 a rule was broken or something never came about, 2 bad input.',
    );

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
  const start_ms = performance.now();
  const results = await interruptible(async (signal) => exploreAll(options.workers ?? cpus().length, module, signal));
  const wall_ms = performance.now() - start_ms;
  if (waiting) process.stderr.write('\r\x1b[K');
  if (results === undefined) {
    process.stderr.write('standoff: broken off: nothing can be said about this module\n');
    return EXIT.interrupted;
  }
  const next_modes = results[0]!.next_modes.map((_, mode) =>
    results.reduce((sum, result) => sum | result.next_modes[mode]!, 0),
  );
  if (graph !== undefined) writeFileSync(graph, modeGraph(next_modes));
  const memory_MB = Math.round(process.resourceUsage().maxRSS / 1000);
  const format = 'standoff exploration 1';
  if (options.json) process.stdout.write(`${JSON.stringify({ format, wall_ms, memory_MB, results }, null, 1)}\n`);
  else {
    const style = terminalStyle(process.env, process.stdout, options.plain);
    const text = exploreText(results, { wall_ms, memory_MB }, style.columns);
    process.stdout.write(style.unicode ? text : asciiText(text));
  }
  return anythingFound(results) ? EXIT.broken : EXIT.kept;
}

/** Before any thread is started. @throws StandoffError `module-format` */
function refuseOther(file: string): void {
  try {
    new WasmController(loadControlModule(file)).tick();
  } catch {
    throw new StandoffError('module-format', `${file} is no control module`, 'name one that npm run build:module made');
  }
}
