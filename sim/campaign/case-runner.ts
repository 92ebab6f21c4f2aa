import { Judge, type RequirementResult, requirementContext, Stretches } from '../judge/index.js';
import { type ControlModule, loadControlModule, WasmController } from '../run/controller/index.js';
import { motionLimits, run } from '../run/loop/index.js';
import type { Setup } from '../run/setup/index.js';
import { newBlock, type TraceSink } from '../run/trace/index.js';
import { type Plan, parseProgram, planProgram } from '../world/motion/index.js';
import { type Case, type CaseSpace, caseOf, caseOperator, caseSetup } from './case.js';
import type { Ranges } from './ranges.js';
import { addCase, emptyTally, type Tally } from './tally.js';

/** How a case went. */
export interface Verdict {
  readonly requirements: readonly RequirementResult[];
  readonly ended: 'finished' | 'stopped' | 'limit';
  /** Names of the faults that the box raised. */
  readonly faults: readonly string[];
  readonly ticks: number;
  /** The wishes for the standoff while following were met, as far as the cut put them to the test. */
  readonly wishes_met: boolean;
  /** Standoff error that 99.9 % of the following time stayed within, mm; null: nothing followed. */
  readonly following_p999_mm: number | null;
}

/** Wishes that the gains decide; dives at corners and kerfs are decided by the lockouts. */
const FOLLOWING: readonly string[] = ['following-rms', 'following-p999'];

/**
 * Faults of the world against which no box can keep the tip from the sheet: the axis does not do what it is told, a hand fires
 * the torch wherever it is, or the table moves unseen and Z rests for want of steps. Contact in such a case is counted apart.
 */
const BEYOND_THE_BOX: readonly string[] = [
  'lost-steps',
  'reversed-direction',
  'unpowered-axis',
  'hand-on-trigger',
  'latching-trigger',
  'welded-relay',
  'breakaway',
  'dead-x-step-tap',
  'dead-y-step-tap',
];

/** What of a case, or of a stored run, decides whether a box could have kept the tip from the sheet. */
type Causes = Pick<Case, 'faults' | 'operator'>;

/** The hold input is an order to leave Z alone; what the sheet does meanwhile is the operator's business. */
export const beyondTheBox = (one: Causes): boolean =>
  one.faults.some((fault) => BEYOND_THE_BOX.includes(fault.kind)) ||
  one.operator.some((event) => event.line === 'hold');

/**
 * Runs cases and judges every requirement. Instance, block and stretches serve all of them, one after the other: making them again
 * took a tenth of a cut.
 */
class CaseJudge {
  private readonly controller: WasmController;
  private readonly block = newBlock();
  private readonly stretches = new Stretches();

  constructor(module: ControlModule) {
    this.controller = new WasmController(module);
  }

  judge(setup: Setup, plan: Plan, one: Case, watchers: readonly TraceSink[] = []): Verdict {
    const { controller, block, stretches } = this;
    const { box, machine, world } = caseSetup(setup, one);
    const context = requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms });
    const judge = new Judge(context, stretches);
    controller.renew();
    const operator = caseOperator(one);
    const outcome = run({ box, machine, world, plan, seed: one.seed, controller, operator, block }, [
      judge,
      ...watchers,
    ]);
    const figures = judge.figures.figures();
    const results = judge.results(figures);
    return {
      requirements: results.filter((requirement) => requirement.kind === 'requirement'),
      ended: outcome.ended,
      faults: figures.faults.map((fault) => fault.name),
      ticks: outcome.ticks,
      wishes_met: results.every((result) => !FOLLOWING.includes(result.name) || result.kept),
      following_p999_mm: figures.standoff_error_p999_mm,
    };
  }
}

/**
 * Names of the requirements that are broken, and of those that no box could have kept: contact where `one` explains it.
 * @param requirements results, wishes left out
 */
export function brokenRequirements(
  requirements: readonly RequirementResult[],
  one: Causes,
): { broken: string[]; beyond: string[] } {
  const excused = beyondTheBox(one);
  const names = requirements.filter((requirement) => !requirement.kept).map((requirement) => requirement.name);
  const beyond = names.filter((name) => excused && name === 'no-contact');
  return { broken: names.filter((name) => !beyond.includes(name)), beyond };
}

const program = (name: string, ...lines: string[]) => ({
  name,
  text: ['G21 G90 G17 F3000', ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n'),
});

/** What a campaign cuts when no program is named: short cuts with what matters in them. Invented, like the example. */
export const SHORT_CUTS = [
  program('straight.nc', 'G0 X50 Y100', 'M3', 'G1 X350'),
  program('corner.nc', 'G0 X50 Y50', 'M3', 'G1 X150', 'G1 Y150'),
  program('crossing.nc', 'G0 X150 Y50', 'M3', 'G1 Y150', 'M5', 'G4 P1', 'G0 X50 Y100', 'M3', 'G1 X250'),
] as const;

/** All that decides the cases of a campaign and what they come to; plain data. */
export interface Campaign {
  readonly setup: Setup;
  readonly ranges: Ranges;
  /** Case number k cuts program k mod length. */
  readonly programs: readonly { readonly name: string; readonly text: string }[];
  readonly seed: number;
  /** Another module than the one built, such as one with a planted defect. */
  readonly module_file?: string;
}

/** Faults and operator may come this long after the motion alone would have ended: touch-off and pierce take time, s. */
const EXTRA_S = 8;

/** A campaign with its programs planned once. */
export class CaseRunner {
  private readonly plans: readonly Plan[];
  private readonly spaces: readonly CaseSpace[];
  private readonly verdicts: CaseJudge;

  constructor(private readonly campaign: Campaign) {
    const { setup, ranges, programs, module_file } = campaign;
    this.verdicts = new CaseJudge(loadControlModule(module_file));
    this.plans = programs.map(({ name, text }) => planProgram(parseProgram(text, name), motionLimits(setup.machine)));
    this.spaces = this.plans.map((plan) => ({ setup, ranges, duration_s: plan.duration_s + EXTRA_S }));
  }

  /** How many programs there are. */
  get programs(): number {
    return this.plans.length;
  }

  programOf(index: number) {
    return this.campaign.programs[index % this.plans.length];
  }

  spaceOf(index: number): CaseSpace {
    return this.spaces[index % this.plans.length];
  }

  caseOf(index: number) {
    return caseOf(this.spaceOf(index), this.campaign.seed, index);
  }

  /** Judges a case, which may be another than the one of this number; the number chooses the program. */
  judge(index: number, one = this.caseOf(index), watchers: readonly TraceSink[] = []) {
    const plan = this.plans[index % this.plans.length];
    return this.verdicts.judge(this.campaign.setup, plan, one, watchers);
  }

  /** Cases from (inclusive) … to (exclusive). */
  run(from: number, to: number): Tally {
    const tally = emptyTally();
    for (let index = from; index < to; index++) {
      const one = this.caseOf(index);
      addCase(tally, index, one, this.judge(index, one));
    }
    return tally;
  }
}
