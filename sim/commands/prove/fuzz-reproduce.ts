import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../../base/index.js';
import { brokenRequirements } from '../../campaign/index.js';
import { Judge, requirementContext } from '../../judge/index.js';
import { loadControlModule, WasmController } from '../../run/controller/index.js';
import { motionLimits, run } from '../../run/loop/index.js';
import { readScenario } from '../../run/setup/index.js';
import { asciiText, terminalStyle } from '../../views/terminal/index.js';
import { counted, wrapText } from '../../views/terminal/text.js';
import { parseProgram, planProgram } from '../../world/motion/index.js';
import { shellWords } from '../base/command-line.js';
import { runStatus } from '../base/exit.js';
import { readText } from '../base/files.js';

/** How a stored run went this time. */
interface Reproduced {
  readonly file: string;
  readonly broken: readonly string[];
  /** Requirements that no box could have kept in this run; they do not count as broken, as in the campaign. */
  readonly beyond: readonly string[];
  /** Whether the program came to its end. */
  readonly finished: boolean;
}

/**
 * Cuts every stored run of a folder again and judges it as the campaign did.
 * @returns the exit status
 * @throws StandoffError for a folder without stored runs, or one that cannot be read; nothing has been run then
 */
export function reproduce(folder: string, options: { readonly json?: true; readonly plain?: true }): number {
  const names = storedRuns(folder);
  // All are read and planned before any is run: a bad file is told at once.
  const runs = names.map((name) => {
    const file = join(folder, name);
    const scenario = readScenario(readText(file, 'stored run'), file);
    const { setup, program } = scenario;
    return { file, scenario, plan: planProgram(parseProgram(program.text, program.name), motionLimits(setup.machine)) };
  });
  const module = loadControlModule();
  const results = runs.map(({ file, scenario, plan }): Reproduced => {
    const { setup, seed, operator = [] } = scenario;
    const judge = new Judge(requirementContext(setup.box, { relay_release_ms: setup.machine.firing.relay_release_ms }));
    const controller = new WasmController(module);
    const { ended } = run({ ...setup, plan, seed, controller, ...(scenario.operator && { operator }) }, [judge]);
    const requirements = judge.results().filter((requirement) => requirement.kind === 'requirement');
    return {
      file,
      ...brokenRequirements(requirements, { faults: setup.world.faults, operator }),
      finished: ended === 'finished',
    };
  });
  if (options.json) process.stdout.write(`${JSON.stringify({ module_sha256: module.sha256, results }, null, 1)}\n`);
  else {
    const style = terminalStyle(process.env, process.stdout, options.plain);
    const text = linesOf(results)
      .flatMap((line) => wrapText(line, style.columns, 2))
      .join('\n');
    process.stdout.write(`${style.unicode ? text : asciiText(text)}\n`);
  }
  const kept = results.every(({ broken }) => broken.length === 0);
  return runStatus({ kept, finished: results.every(({ finished }) => finished) });
}

function storedRuns(folder: string): string[] {
  const remedy = 'name a folder with stored runs, such as standoff fuzz --cases writes';
  if (!existsSync(folder)) throw new StandoffError('folder-missing', `the folder ${folder} does not exist`, remedy);
  if (!statSync(folder).isDirectory()) throw new StandoffError('folder-none', `${folder} is no folder`, remedy);
  const names = readdirSync(folder).filter((name) => /\.ya?ml$/.test(name));
  if (names.length === 0) throw new StandoffError('folder-empty', `no stored run (.yaml) in ${folder}`, remedy);
  return names.sort();
}

function linesOf(results: readonly Reproduced[]): string[] {
  const failing = results.filter(({ broken }) => broken.length > 0);
  const stopped = results.filter(({ finished }) => !finished).length;
  const excused = results.some(({ beyond }) => beyond.length > 0);
  return [
    ...results.map(({ file, broken, beyond, finished }) => {
      const end = finished ? '' : '; it did not come to its end';
      if (broken.length > 0) return `${file}: BROKEN: ${broken.join(', ')}${end}`;
      return `${file}: ${beyond.length > 0 ? `${beyond.join(', ')} not kept, which no box could have *` : 'every requirement kept'}${end}`;
    }),
    ...(excused
      ? ['* The axis failed, a hand fired the torch, or the hold input told the box to leave Z alone: not counted.']
      : []),
    `${counted(results.length, 'stored run')} cut again: ${failing.length === 0 ? 'no requirement was broken' : `${failing.length} of them BREAK a requirement`}.`,
    ...(stopped > 0 ? [`${stopped} of them did not come to the end of the program.`] : []),
    ...(failing.length > 0 ? [`See the first: standoff simulate ${shellWords(['--scenario', failing[0]!.file])}`] : []),
  ];
}
