import { cpus } from 'node:os';
import { Command } from '@commander-js/extra-typings';
import {
  anythingFound,
  type Broken,
  brokenInvariants,
  type ExploreResult,
  exploreAll,
  INVARIANTS,
  modeGraph,
  NOT_REACHED,
  neverReached,
  nextModes,
} from '../../explore/index.js';
import { loadControlModule } from '../../run/controller/index.js';
import { asciiText, counted, terminalStyle, wrapText } from '../../views/text/index.js';
import { type Ended, EXIT, interruptible, wholeNumber } from '../base/command-line.js';
import { checkOutputs, writeFiles } from '../base/files.js';

const command = () =>
  new Command('explore')
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
      '\nExit status: 0 nothing was found, 1 an invariant was broken or something never came about, 2 bad input, 130 broken off by Ctrl-C.',
    );

/** `standoff explore`. */
export const exploreCommand = (ended: Ended) => command().action(async (options) => ended(await explore(options)));

type ExploreOptions = ReturnType<ReturnType<typeof command>['opts']>;

/** @returns the exit status @throws StandoffError for bad input, before anything is run */
async function explore(options: ExploreOptions): Promise<number> {
  const { graph, module } = options;
  // Before any thread is started.
  if (module !== undefined) loadControlModule(module);
  const graph_file = { option: '--graph', path: graph, endings: ['.mmd'] };
  checkOutputs([graph_file], [module], options.force === true);
  const waiting = options.json !== true && process.stderr.isTTY === true;
  if (waiting) process.stderr.write('exploring the states …');
  const start_ms = performance.now();
  const results = await interruptible(async (signal) => exploreAll(options.workers ?? cpus().length, module, signal));
  const wall_ms = performance.now() - start_ms;
  if (waiting) process.stderr.write('\r\x1b[K');
  if (results === undefined) {
    process.stderr.write('standoff: broken off: nothing can be said about this module\n');
    return EXIT.interrupted;
  }
  writeFiles([{ ...graph_file, text: () => modeGraph(nextModes(results)) }], [module], options.force === true);
  const memory_MB = Math.round(process.resourceUsage().maxRSS / 1000);
  const format = 'standoff exploration 3';
  if (options.json) process.stdout.write(`${JSON.stringify({ format, wall_ms, memory_MB, results }, null, 1)}\n`);
  else {
    const style = terminalStyle(process.env, process.stdout, options.plain);
    const text = exploreText(results, { wall_ms, memory_MB }, style.columns);
    process.stdout.write(style.unicode ? text : asciiText(text));
  }
  return anythingFound(results) ? EXIT.broken : EXIT.kept;
}

const kindText = ({ supply_contact, target_learned, parameters }: ExploreResult): string =>
  `${supply_contact ? 'with' : 'without'} the supply’s contact, with a ${target_learned ? 'learned' : 'fixed'} target${
    parameters === undefined ? '' : `, ${parameters}`
  }`;

const sum = (results: readonly ExploreResult[], of: (result: ExploreResult) => number) =>
  results.reduce((total, result) => total + of(result), 0);
const millions = (count: number) => (count / 1e6).toFixed(1);

/** What was explored and what was found, for a person. @param used time by the clock, and the most memory */
export function exploreText(
  results: readonly ExploreResult[],
  { wall_ms, memory_MB }: { readonly wall_ms: number; readonly memory_MB: number },
  columns: number,
): string {
  const lines: string[] = [];
  const say = (text: string, indent = 2) => lines.push(...wrapText(text, columns, indent));
  const transitions = sum(results, (result) => result.transitions);
  const ticks = sum(results, (result) => result.ticks);
  const found = brokenInvariants(results);
  say(
    `${sum(results, ({ states }) => states)} states and all that can happen in each, ${millions(transitions)} million ticks of the module, ` +
      `in ${(wall_ms / 1000).toFixed(1)} s (${memory_MB} MB of memory): ${
        found.length === 0
          ? `each of ${INVARIANTS.length} invariants held in every tick`
          : `${counted(found.length, 'INVARIANT', 'INVARIANTS')} OF ${INVARIANTS.length} BROKEN`
      }.`,
  );
  say(
    ticks === transitions
      ? 'Every one of these ticks was run: only for the module as built it is known what a tick looks at.'
      : `${millions(ticks)} million of these ticks were run. In the others something is different only in what the module, as a ` +
          'record of its tick shows, does not look at there: what comes of them is what came of one that was run.',
  );
  for (const { broken, kinds } of found) {
    lines.push('');
    say(`BROKEN: ${broken.invariant}: ${broken.statement}.`);
    if (kinds.length < results.length) say(`Only ${kinds.map(kindText).join('; ')}.`);
    broken.counterexample.forEach((step, index) => {
      say(`${index + 1}. ${step.happens} -> ${step.box}`, 4);
    });
    say(replayText(broken));
  }
  lines.push('');
  guardText(results, say);
  lines.push('');
  reachText(results, say);
  lines.push('');
  coverText(say);
  return `${lines.join('\n')}\n`;
}

function replayText({ invariant, counterexample, replay }: Broken): string {
  const start = 'Replayed from power-up with true timers:';
  if (replay.broken !== null) {
    const which = replay.broken === invariant ? 'the invariant' : `the invariant ${replay.broken}`;
    return `${start} confirmed, ${which} breaks after ${counted(replay.ticks, 'tick')} of 1 ms.`;
  }
  if (replay.steps === counterexample.length) {
    return (
      `${start} not confirmed. All steps came about, but the invariant held. Either it takes another timing than those that were ` +
      'tried, or it happens only because the exploration lets timers, voltages and heights be anything at any moment.'
    );
  }
  return (
    `${start} not confirmed. Step ${replay.steps + 1} did not come about: in none of the timings that were tried does the ` +
    'real sequence of voltages and heights lead there. The exploration lets them be anything at any moment.'
  );
}

function guardText(results: readonly ExploreResult[], say: (text: string) => void): void {
  const broken = [...new Set(results.flatMap(({ guard }) => guard.broken))];
  const states = sum(results, ({ guard }) => guard.states);
  const ticks = sum(results, ({ guard }) => guard.transitions);
  const tried = `The guard, which has the last word on trigger, motion permit and steps, was also tried alone: ${millions(ticks)} million ticks from ${states} made-up states, as if the sequence had gone wrong.`;
  say(
    broken.length === 0
      ? `${tried} Nothing got past it.`
      : `${tried} BROKEN: ${broken.map((name) => `${name}: ${INVARIANTS.find((one) => one.name === name)?.statement}`).join('; ')}.`,
  );
}

function reachText(results: readonly ExploreResult[], say: (text: string) => void): void {
  const missing = neverReached(results);
  const lost = missing.filter((word) => NOT_REACHED[word] === undefined);
  for (const word of lost) {
    say(`NEVER REACHED: ${word}. Nothing that can happen leads there; in the module as shipped something does.`);
  }
  const known = missing.filter((word) => NOT_REACHED[word] !== undefined);
  if (lost.length === 0) {
    say(`Reached: every mode, stage, hold, fault and refusal${known.length === 0 ? '' : ` but ${known.join(', ')}`}.`);
  }
  for (const word of known) say(`${word}: ${lost.length === 0 ? '' : 'not reached either: '}${NOT_REACHED[word]}.`);
}

function coverText(say: (text: string) => void): void {
  say('What was tried, in every state and in every combination that a tick comes to read:');
  for (const tried of [
    'key, request, stop chain, reset, late ticks, torch in or out of its holder, top, touch-off and hold switch, supply’s contact',
    'every timer just begun and run out, so lengths that the box does not even have are covered; switches that chatter for any time',
    'eight kinds of arc voltage, from negative over the arc window to the top of the converter, each steady before the tick',
    'Z still, rising and sinking, at every height that the sequence asks about and at its bounds',
    'X and Y at rest, at the feed of the cut, and slower',
    'with and without the supply’s contact, with a fixed and a learned target',
    'without the contact also with every lockout off and no time to wait',
  ]) {
    say(`- ${tried}`);
  }
  say(
    'Not tried: other parameters than these and those that the box comes with, small holes, a sheet that seems to fall off, noise and ripple on the voltage, how well the standoff is held, ' +
      'and everything outside the control module.',
  );
}
