import { Judge, type OwnRequirements, type RequirementResult, requirementContext, Stretches } from '../judge/index.js';
import { type ControlModule, WasmController } from '../run/controller/index.js';
import { run } from '../run/loop/index.js';
import type { Setup } from '../run/setup/index.js';
import { newBlock, type TraceSink } from '../run/trace/index.js';
import type { Plan } from '../world/motion/index.js';
import { type Case, caseOperator, caseSetup } from './case.js';

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
export type Causes = Pick<Case, 'faults' | 'operator'>;

/** The hold input is an order to leave Z alone; what the sheet does meanwhile is the operator's business. */
export const beyondTheBox = (one: Causes): boolean =>
  one.faults.some((fault) => BEYOND_THE_BOX.includes(fault.kind)) ||
  one.operator.some((event) => event.line === 'hold');

/**
 * Runs cases and judges every requirement. Instance, block and stretches serve all of them, one after the other: making them again
 * took a tenth of a cut.
 */
export class CaseJudge {
  private readonly controller: WasmController;
  private readonly block = newBlock();
  private readonly stretches = new Stretches();

  constructor(
    module: ControlModule,
    private readonly own: OwnRequirements = () => [],
  ) {
    this.controller = new WasmController(module);
  }

  judge(setup: Setup, plan: Plan, one: Case, watchers: readonly TraceSink[] = []): Verdict {
    const { controller, block, stretches } = this;
    const { box, machine, world } = caseSetup(setup, one);
    const context = requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms });
    const judge = new Judge(context, stretches, this.own(context));
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
