import { existsSync, mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../base/index.js';
import { loadControlModule, WasmController } from '../controller/index.js';
import { brokenLaws, type CampaignRecord, type Case, type CaseRunner, caseScenario, shrink } from '../fuzz/index.js';
import { motionLimits, run } from '../loop/index.js';
import { parseProgram, planProgram } from '../motion/index.js';
import { LawBook, lawContext } from '../properties/index.js';
import { asciiText, terminalStyle } from '../report/index.js';
import { counted, wrapText } from '../report/text.js';
import { readScenario, writeScenario } from '../setup/index.js';
import { EXIT } from './exit.js';
import { readText } from './files.js';

/**
 * Stores, for every broken law, the simplest cut that still breaks it, and for every other law its nearest miss.
 * @returns sentences on what was stored and what matters in it
 * @throws StandoffError `file-exists` before anything is written
 */
export function storeCases(folder: string, record: CampaignRecord, runner: CaseRunner, force: boolean): string[] {
  const { setup, ranges } = record.campaign;
  const wanted = Object.entries(record.tally.laws).flatMap(([law, { broken, first_broken, worst_case }]) => {
    const index = broken > 0 ? first_broken : worst_case;
    return index === null
      ? []
      : [{ law, broken: broken > 0, index, file: join(folder, `${broken > 0 ? 'broken' : 'near'}-${law}.yaml`) }];
  });
  const taken = wanted.find(({ file }) => existsSync(file));
  if (taken && !force) {
    throw new StandoffError('file-exists', `${taken.file} exists`, 'choose another folder, or overwrite with --force');
  }
  mkdirSync(folder, { recursive: true });
  const lines: string[] = [];
  for (const { law, broken, index, file } of wanted) {
    let one = runner.caseOf(index);
    if (broken) {
      const breaks = (candidate: Case) => brokenLaws(runner.judge(index, candidate), candidate).includes(law);
      const small = shrink(one, ranges, breaks);
      one = small.case;
      const needs = small.ingredients.length === 0 ? 'nothing but the setup itself' : small.ingredients.join('; ');
      lines.push(
        `${file} breaks ${law} (cut ${index}, simplified in ${counted(small.tries, 'try', 'tries')}). It needs: ${needs}.`,
      );
      lines.push(`  See it: standoff simulate --scenario ${file}`);
    }
    writeFileSync(file, writeScenario(caseScenario(setup, one, runner.programOf(index))));
  }
  const near = wanted.filter((one) => !one.broken).length;
  if (near > 0) lines.push(`${counted(near, 'nearest miss', 'nearest misses')} in ${folder}: near-….yaml`);
  return lines;
}

/**
 * Cuts every stored run of a folder again and judges it.
 * @returns the exit status
 * @throws StandoffError for a folder without stored runs, or one that cannot be read
 */
export function reproduce(folder: string, options: { readonly json?: true; readonly plain?: true }): number {
  if (!existsSync(folder)) {
    throw new StandoffError('folder-missing', `the folder ${folder} does not exist`, 'name a folder with stored runs');
  }
  const names = readdirSync(folder).filter((name) => /\.ya?ml$/.test(name));
  if (names.length === 0) {
    throw new StandoffError('folder-empty', `no stored run (.yaml) in ${folder}`, 'name a folder with stored runs');
  }
  // All are read before any is run: a bad file is told at once.
  const runs = names.sort().map((name) => {
    const file = join(folder, name);
    return { file, scenario: readScenario(readText(file, 'stored run'), file) };
  });
  const module = loadControlModule();
  const results = runs.map(({ file, scenario }) => {
    const { setup, program, seed, operator } = scenario;
    const plan = planProgram(parseProgram(program.text, program.name), motionLimits(setup.machine));
    const book = new LawBook(lawContext(setup.box, { relay_release_ms: setup.machine.firing.relay_release_ms }));
    run({ ...setup, plan, seed, controller: new WasmController(module), ...(operator && { operator }) }, [book]);
    const broken = book.results().filter((law) => law.kind === 'law' && !law.kept);
    return { file, broken: broken.map((law) => law.name) };
  });
  const failing = results.filter(({ broken }) => broken.length > 0);
  if (options.json) process.stdout.write(`${JSON.stringify({ module_sha256: module.sha256, results }, null, 1)}\n`);
  else {
    const style = terminalStyle(process.env, process.stdout, options.plain);
    const lines = results.map(
      ({ file, broken }) => `${file}: ${broken.length === 0 ? 'every law kept' : `BROKEN: ${broken.join(', ')}`}`,
    );
    const text = [...lines, `${results.length} stored runs, ${failing.length} break a law.`].flatMap((line) =>
      wrapText(line, style.columns, 2),
    );
    process.stdout.write(`${style.unicode ? text.join('\n') : asciiText(text.join('\n'))}\n`);
  }
  return failing.length > 0 ? EXIT.broken : EXIT.kept;
}
