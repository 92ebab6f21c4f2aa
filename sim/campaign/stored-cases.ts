import { readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { StandoffError } from '../base/index.js';
import {
  BOUNDS,
  brokenRequirements,
  type CampaignRecord,
  type Case,
  type CaseRunner,
  caseScenario,
  shrink,
} from './index.js';
import { writeScenario } from '../run/setup/index.js';
import { counted } from '../views/terminal/text.js';
import { shellWords } from '../commands/base/command-line.js';
import { makeFolder } from '../commands/base/output-name.js';

/**
 * Makes the folder for the cases of a campaign; called before the campaign, so that nothing is tried in vain.
 * @throws StandoffError `file-exists` when cases are in it already, `folder-unwritable`
 */
export function prepareCases(folder: string, force: boolean): void {
  makeFolder(folder);
  const taken = readdirSync(folder).find((name) => /^(broken|near)-.*\.yaml$/.test(name));
  if (taken === undefined || force) return;
  const what = `${join(folder, taken)} exists`;
  throw new StandoffError('file-exists', what, 'choose another folder, or overwrite with --force');
}

/**
 * Stores, for every broken requirement, the simplest cut that still breaks it, and for every other requirement its nearest miss. A requirement
 * that says never has no nearest miss.
 * @param folder as prepareCases left it
 * @returns sentences on what was stored, what matters in it, and how to see it
 */
export function storeCases(folder: string, record: CampaignRecord, runner: CaseRunner): string[] {
  const { setup, ranges } = record.campaign;
  const requirements = Object.entries(record.tally.requirements);
  const lines: string[] = [];
  const see = (file: string) => `  See it: standoff simulate ${shellWords(['--scenario', file])}`;
  const store = (file: string, head: readonly string[], index: number, one: Case) => {
    const text = writeScenario(caseScenario(setup, one, runner.programOf(index)));
    writeFileSync(file, `${head.map((line) => `# ${line}\n`).join('')}${text}`);
  };
  for (const [requirement, { broken, first_broken: index, statement }] of requirements) {
    if (broken === 0 || index === null) continue;
    const file = join(folder, `broken-${requirement}.yaml`);
    const breaks = (one: Case) =>
      brokenRequirements(runner.judge(index, one).requirements, one).broken.includes(requirement);
    const small = shrink(runner.caseOf(index), ranges, breaks, runner.spaceOf(index).duration_s);
    const needs = small.ingredients.length === 0 ? 'nothing but the setup itself' : small.ingredients.join('; ');
    store(file, [`breaks ${requirement}: ${statement}`, `needs: ${needs}`], index, small.case);
    const tries = counted(small.tries, 'try', 'tries');
    lines.push(`${file} breaks ${requirement} (cut ${index}, simplified in ${tries}). It needs: ${needs}.`, see(file));
  }
  const near = requirements
    .filter(
      ([, requirement]) =>
        requirement.broken === 0 && requirement.worst_margin !== null && requirement.worst_margin > 0,
    )
    .sort(
      ([a, one], [b, other]) =>
        Number(BOUNDS.includes(b)) - Number(BOUNDS.includes(a)) || one.worst_margin! - other.worst_margin!,
    );
  for (const [requirement, { worst_margin, unit, worst_case }] of near) {
    const head = `nearest to breaking ${requirement}: ${Number(worst_margin!.toPrecision(3))} ${unit} left`;
    store(join(folder, `near-${requirement}.yaml`), [head], worst_case!, runner.caseOf(worst_case!));
  }
  const nothing_broken = lines.length === 0;
  if (near.length > 0) {
    const misses = counted(near.length, 'nearest miss', 'nearest misses');
    lines.unshift(`${misses} in ${folder}, one for each requirement with a distance to it.`);
    if (nothing_broken) lines.push(see(join(folder, `near-${near[0]![0]}.yaml`)));
  }
  if (!nothing_broken) lines.push(`When it is mended: standoff fuzz ${shellWords(['--reproduce', folder])}`);
  return lines;
}
