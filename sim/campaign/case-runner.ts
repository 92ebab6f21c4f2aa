import { pathToFileURL } from 'node:url';
import { StandoffError } from '../base/index.js';
import {
  Judge,
  type OwnRequirements,
  type RequirementResult,
  type RunFigures,
  requirementContext,
  Stretches,
} from '../judge/index.js';
import { loadControlModule, WasmController } from '../run/controller/index.js';
import { motionLimits, run } from '../run/loop/index.js';
import type { Scenario, Setup } from '../run/setup/index.js';
import type { TraceSink } from '../run/trace/index.js';
import { type Plan, parseProgram, planProgram } from '../world/motion/index.js';
import { beyondTheBox, type Causes } from './beyond.js';
import { type Case, type CaseSpace, caseOf, caseOperator, caseSetup } from './case.js';
import { drawnProgram } from './programs.js';
import type { Ranges } from './ranges.js';
import { addCase, emptyTally, type Tally, type Verdict } from './tally.js';

/** Quality goals that the gains decide; the lockouts decide the dives at corners and kerfs. */
const FOLLOWING: readonly string[] = ['following-rms', 'following-p999'];

/**
 * Names of the requirements that are broken, and apart from them contact that no box could have avoided.
 * @param requirements results, without quality goals
 */
export function brokenRequirements(
  requirements: readonly RequirementResult[],
  causes: Causes,
): { broken: string[]; beyond: string[] } {
  const excused = beyondTheBox(causes);
  const names = requirements.filter((requirement) => !requirement.kept).map((requirement) => requirement.name);
  const beyond = names.filter((name) => excused && name === 'no-contact');
  return { broken: names.filter((name) => !beyond.includes(name)), beyond };
}

const program = (name: string, ...lines: string[]) => ({
  name,
  text: ['G21 G90 G17 F3000', ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n'),
});

/** What a map cuts when no program is named: short cuts that contain what matters. Invented, like the example. */
export const SHORT_CUTS = [
  program('straight.nc', 'G0 X50 Y100', 'M3', 'G1 X350'),
  program('corner.nc', 'G0 X50 Y50', 'M3', 'G1 X150', 'G1 Y150'),
  program('crossing.nc', 'G0 X150 Y50', 'M3', 'G1 Y150', 'M5', 'G4 P1', 'G0 X50 Y100', 'M3', 'G1 X250'),
] as const;

/** All that decides the cases of a campaign and their results; plain data. */
export interface Campaign {
  readonly setup: Setup;
  readonly ranges: Ranges;
  /** Case number k cuts program k mod length; none: each case has a drawn program of its own. */
  readonly programs: readonly { readonly name: string; readonly text: string }[];
  readonly seed: number;
  /** Another module than the built one, such as one with a planted defect. */
  readonly module_file?: string;
  /** A JavaScript module that exports `requirements`, an OwnRequirements: judged beside those of the design. */
  readonly requirements_file?: string;
}

/**
 * Faults and operator actions may come this long after the motion alone would have ended, s: touch-off and pierce take
 * time.
 */
const EXTRA_S = 8;

/** A search without a given program goes over so many drawn ones. */
const SEARCHED_PROGRAMS = 24;

/** A program, planned, and where its cases lie. */
interface Cut {
  readonly program: Scenario['program'];
  readonly plan: Plan;
  readonly space: CaseSpace;
  /** Plans of tables that go on through an M5 in another way, by that speed. */
  readonly others: Map<number, Plan>;
}

/**
 * Runs the cases of a campaign and judges every requirement. Programs are planned once. All cases share one instance of
 * the modules and stretches: making these for each took a tenth of the time of a cut.
 */
export class CaseRunner {
  private readonly given: readonly Cut[];
  private readonly drawn = new Map<number, Cut>();
  private readonly controller: WasmController;
  private readonly stretches = new Stretches();

  /**
   * @param own what the campaign's `requirements_file` exports (see `ownRequirements`), or the requirements themselves
   * @throws StandoffError for a module, a program or limits that are none
   */
  constructor(
    private readonly campaign: Campaign,
    private readonly own: OwnRequirements = () => [],
  ) {
    const { programs, module_file } = campaign;
    this.controller = new WasmController(loadControlModule(module_file));
    this.given = programs.map((program) => this.cutOf(program));
  }

  /** Number of programs to choose from: those given, or the first ones that are drawn. */
  get programs(): number {
    return this.given.length > 0 ? this.given.length : SEARCHED_PROGRAMS;
  }

  programOf(index: number): Scenario['program'] {
    return this.at(index).program;
  }

  spaceOf(index: number): CaseSpace {
    return this.at(index).space;
  }

  private at(index: number): Cut {
    if (this.given.length > 0) return this.given[index % this.given.length];
    const known = this.drawn.get(index);
    if (known !== undefined) return known;
    const { seed, setup } = this.campaign;
    const { sheet_width_mm: width_mm, sheet_height_mm: height_mm, run_off_mm } = setup.machine.table;
    const cut = this.cutOf(drawnProgram(seed, index, { width_mm, height_mm, run_off_mm }));
    // A search comes back to its programs; a campaign does not, and must not grow.
    if (this.drawn.size >= SEARCHED_PROGRAMS) this.drawn.clear();
    this.drawn.set(index, cut);
    return cut;
  }

  private cutOf(program: Scenario['program']): Cut {
    const { setup, ranges } = this.campaign;
    const plan = planProgram(
      parseProgram(program.text, program.name, setup.machine.origins),
      motionLimits(setup.machine),
    );
    return { program, plan, space: { setup, ranges, duration_s: plan.duration_s + EXTRA_S }, others: new Map() };
  }

  /** As the table of a case goes through it. */
  private planOf(index: number, machine: Setup['machine']): Plan {
    const { plan, program, others } = this.at(index);
    const { torch_off_mm_s } = machine.table;
    if (torch_off_mm_s === plan.limits.torch_off_mm_s) return plan;
    const parsed = () => parseProgram(program.text, program.name, machine.origins);
    const other = others.get(torch_off_mm_s) ?? planProgram(parsed(), motionLimits(machine));
    others.set(torch_off_mm_s, other);
    return other;
  }

  caseOf(index: number) {
    return caseOf(this.spaceOf(index), this.campaign.seed, index);
  }

  /** What decides whether a box could have kept the tip off the sheet. */
  causesOf(one: Case): Causes {
    return { ...caseSetup(this.campaign.setup, one), operator: one.operator };
  }

  /** Judges the case of a number, or another one with the program of that number. */
  judge(
    index: number,
    one = this.caseOf(index),
    watchers: readonly TraceSink[] = [],
  ): Verdict & { readonly figures: RunFigures } {
    const { controller, stretches } = this;
    const { box, machine, world } = caseSetup(this.campaign.setup, one);
    const context = requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms });
    const judge = new Judge(context, stretches, this.own(context));
    controller.renew();
    const plan = this.planOf(index, machine);
    const options = { box, machine, world, plan, seed: one.seed, controller, operator: caseOperator(one) };
    const outcome = run(options, [judge, ...watchers]);
    const figures = judge.figures.figures();
    const results = judge.results(figures);
    return {
      requirements: results.filter((requirement) => requirement.kind === 'requirement'),
      goals: results.filter((requirement) => requirement.kind === 'goal'),
      figures,
      stop: judge.verdict(outcome, figures, results).stop,
      faults: figures.faults.map((fault) => fault.name),
      ticks: outcome.ticks,
      goals_met: results.every((result) => !FOLLOWING.includes(result.name) || result.kept),
      following_p999_mm: figures.standoff_error_p999_mm,
    };
  }

  /** Cases `from` (inclusive) to `to` (exclusive). */
  run(from: number, to: number): Tally {
    const tally = emptyTally();
    for (let index = from; index < to; index++) {
      const one = this.caseOf(index);
      addCase(tally, index, one, caseSetup(this.campaign.setup, one), this.judge(index, one));
    }
    return tally;
  }
}

/**
 * The requirements of a campaign's own, in this process.
 * @throws StandoffError `campaign-requirements` for a file that is missing, cannot run, or does not export them
 */
export async function ownRequirements({ requirements_file: file }: Campaign): Promise<OwnRequirements | undefined> {
  if (file === undefined) return undefined;
  const remedy = 'give a JavaScript module that exports requirements(context), a list of new requirements';
  let found: { readonly requirements?: unknown };
  try {
    found = await import(pathToFileURL(file).href);
  } catch (error) {
    throw new StandoffError('campaign-requirements', `${file} cannot be loaded (${String(error)})`, remedy);
  }
  if (typeof found.requirements === 'function') return found.requirements as OwnRequirements;
  throw new StandoffError('campaign-requirements', `${file} exports no function called requirements`, remedy);
}
