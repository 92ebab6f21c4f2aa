import type { TraceBlock, TraceSink } from '../run/trace/index.js';
import { ZAcceleration, ZFollowsCommand, ZVelocity } from './axis-requirements.js';
import type { RequirementContext } from './context.js';
import { DescentAfterArcLoss, DescentOnlyInFollow } from './descent-requirements.js';
import { Figures } from './figures.js';
import type { RunFigures } from './figures-types.js';
import { FaultReset, Finite, ModeOrder } from './order-requirements.js';
import { NoContact, ParametersAtRest } from './other-requirements.js';
import { HandBack, OwnershipIdle } from './ownership-requirements.js';
import { NoRestrike, PermitCondition, PermitHeight, PermitWithdrawal, StrayMotion } from './permit-requirements.js';
import { qualityResults } from './quality.js';
import { Floor, FollowDownSpeed, ZDive, ZTravel } from './reach-requirements.js';
import { type Requirement, type RequirementResult, refuseOthers } from './requirement.js';
import { Standstill } from './standstill-requirement.js';
import { RiseAfterFall, StopChainStopsZ } from './stop-requirements.js';
import { Stretches } from './stretches.js';
import { TriggerPath, TriggerPermission, TriggerWithdrawal } from './trigger-requirements.js';
import { VoltageFalls } from './voltage-requirement.js';
import { OutsideWindow } from './window-requirement.js';

/** Every requirement and figure, judged as a run goes by. One judge is for one run, from power-up on. */
export class Judge implements TraceSink {
  /** The figures of the same run; they need no block of their own. */
  readonly figures: Figures;
  private readonly stretches: Stretches;
  private readonly requirements: readonly Requirement[];
  private readonly parameters: ParametersAtRest;

  /**
   * @param stretches those of a run that is over, to be used again; without them, new ones
   * @param own requirements beside those of the design, new for this run
   * @throws StandoffError `requirement-form`, `requirement-name` for what `own` may not be
   */
  constructor(
    private readonly context: RequirementContext,
    stretches: Stretches = new Stretches(),
    own: readonly Requirement[] = [],
  ) {
    this.figures = new Figures(context);
    this.stretches = stretches;
    stretches.begin(context);
    this.parameters = new ParametersAtRest(context);
    this.requirements = [
      new TriggerPermission(),
      new TriggerWithdrawal(),
      new TriggerPath(),
      new VoltageFalls(context),
      new DescentOnlyInFollow(context),
      new OutsideWindow(context),
      new StopChainStopsZ(context),
      new RiseAfterFall(context),
      new ZTravel(context),
      new ZDive(context),
      new Floor(context),
      new ZVelocity(context),
      new FollowDownSpeed(context),
      new ZAcceleration(context),
      new ZFollowsCommand(context),
      new DescentAfterArcLoss(context),
      new PermitCondition(),
      new PermitHeight(context),
      new PermitWithdrawal(context),
      new Standstill(context),
      new StrayMotion(context),
      new NoRestrike(),
      new OwnershipIdle(),
      new HandBack(),
      this.parameters,
      new ModeOrder(),
      new FaultReset(),
      new Finite(),
      new NoContact(),
      ...own,
    ];
    if (own.length > 0) refuseOthers(this.requirements);
  }

  block(block: TraceBlock): void {
    this.stretches.cut(block);
    for (const requirement of this.requirements) requirement.watch(block, this.stretches);
    this.figures.watch(block, this.stretches);
  }

  /**
   * Says that the box took a new value for a parameter after the outputs of `tick`: a trace does not show it.
   * To be called before the block that holds the tick; requirement 9 is judged by it.
   */
  parameterChanged(tick: number, id: number): void {
    this.parameters.changed(tick, id);
  }

  /** The requirements by number, then the qualities. May be asked at any time. @param figures those of now, if known already */
  results(figures: RunFigures = this.figures.figures()): RequirementResult[] {
    return [...this.requirements.map((requirement) => requirement.result()), ...qualityResults(figures, this.context)];
  }

  /** True while no requirement is broken; a missed quality does not count. */
  kept(): boolean {
    return this.requirements.every((requirement) => !(requirement.margin < 0));
  }
}
