import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Judge, type RunStop, requirementContext } from '../judge/index.js';
import { type ControlModule, WasmController } from '../run/controller/index.js';
import { motionLimits, run } from '../run/loop/index.js';
import { type Scenario, writeScenario } from '../run/setup/index.js';
import { parseProgram, planProgram } from '../world/motion/index.js';
import { type Case, caseScenario } from './case.js';
import { brokenRequirements, type CaseRunner } from './case-runner.js';
import type { CampaignRecord } from './record.js';
import { shrink } from './shrink.js';
import { BOUNDS } from './tally.js';

/** The simplest cut found that still breaks a requirement. */
export interface BrokenCase {
  readonly requirement: string;
  readonly file: string;
  /** Number of the cut that was simplified. */
  readonly index: number;
  /** Cuts that the simplifying took. */
  readonly tries: number;
  /** What the cut needs to break the requirement; empty: the setup itself. */
  readonly needs: readonly string[];
}

/** The cut that came nearest to breaking a requirement that no cut broke. */
export interface NearCase {
  readonly requirement: string;
  readonly file: string;
}

/**
 * Stores, for every broken requirement, the simplest cut that still breaks it, and for every other requirement its
 * nearest miss. A requirement that says never has no nearest miss.
 * @param folder that exists; files in it are written over
 * @param record a whole campaign, or what is covered of it
 * @param runner of the same campaign, in the build that ran it
 */
export function storeCases(
  folder: string,
  record: CampaignRecord,
  runner: CaseRunner,
): { readonly broken: readonly BrokenCase[]; readonly near: readonly NearCase[] } {
  const { setup } = record.campaign;
  const requirements = Object.entries(record.tally.requirements);
  const store = (file: string, head: readonly string[], index: number, one: Case) => {
    const text = writeScenario(caseScenario(setup, one, runner.programOf(index)));
    writeFileSync(file, `${head.map((line) => `# ${line}\n`).join('')}${text}`);
  };
  const broken = requirements.flatMap(([requirement, { broken: count, first_broken: index, statement }]) => {
    if (count === 0 || index === null) return [];
    const file = join(folder, `broken-${requirement}.yaml`);
    const breaks = (one: Case) =>
      brokenRequirements(runner.judge(index, one).requirements, runner.causesOf(one)).broken.includes(requirement);
    const small = shrink(runner.caseOf(index), runner.spaceOf(index), breaks);
    const { tries, ingredients: needs } = small;
    store(file, [`breaks ${requirement}: ${statement}`, `needs: ${needsText(needs)}`], index, small.case);
    return [{ requirement, file, index, tries, needs }];
  });
  const near = requirements
    .filter(([, { broken: count, worst_margin }]) => count === 0 && worst_margin !== null && worst_margin > 0)
    .sort(
      ([a, one], [b, other]) =>
        Number(BOUNDS.includes(b)) - Number(BOUNDS.includes(a)) || one.worst_margin! - other.worst_margin!,
    )
    .map(([requirement, { worst_margin, unit, worst_case }]) => {
      const file = join(folder, `near-${requirement}.yaml`);
      const head = `nearest to breaking ${requirement}: ${Number(worst_margin!.toPrecision(3))} ${unit} left`;
      store(file, [head], worst_case!, runner.caseOf(worst_case!));
      return { requirement, file };
    });
  return { broken, near };
}

/** What a broken case needs, in words. */
export const needsText = (needs: readonly string[]): string =>
  needs.length === 0 ? 'nothing but the setup itself' : needs.join('; ');

/** How a stored run went when it was cut again. */
export interface Replayed {
  /** Names of the requirements that were broken. */
  readonly broken: readonly string[];
  /** Requirements that no box could have kept in this run; they do not count as broken, as in the campaign. */
  readonly beyond: readonly string[];
  /** Who stopped it, why and where; null: the program came to its end. */
  readonly stop: RunStop | null;
}

/** Cuts a stored run again and judges it as the campaign did. */
export type Replay = (module: ControlModule) => Replayed;

/**
 * Prepares a stored run to be cut again: its program is read and planned now, so that a bad one is refused before
 * anything runs.
 * @throws StandoffError for a program that cannot be read
 */
export function replayOf({ setup, seed, program, operator }: Scenario): Replay {
  const plan = planProgram(
    parseProgram(program.text, program.name, setup.machine.origins),
    motionLimits(setup.machine),
  );
  return (module) => {
    const judge = new Judge(requirementContext(setup.box, { relay_release_ms: setup.machine.firing.relay_release_ms }));
    const controller = new WasmController(module);
    const outcome = run({ ...setup, plan, seed, controller, ...(operator && { operator }) }, [judge]);
    const requirements = judge.results().filter((requirement) => requirement.kind === 'requirement');
    const causes = { ...setup, operator: operator ?? [] };
    return { ...brokenRequirements(requirements, causes), stop: judge.verdict(outcome).stop };
  };
}
