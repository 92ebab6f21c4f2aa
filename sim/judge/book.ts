import type { TraceBlock, TraceSink } from '../run/trace/index.js';
import { ZAcceleration, ZFollowsCommand, ZVelocity } from './axis-laws.js';
import type { LawContext } from './context.js';
import { DescentAfterArcLoss, DescentOnlyInFollow } from './descent-laws.js';
import { Figures } from './figures.js';
import type { RunFigures } from './figures-types.js';
import type { Law, LawResult } from './law.js';
import { FaultReset, Finite, ModeOrder } from './order-laws.js';
import { NoContact, ParametersAtRest } from './other-laws.js';
import { HandBack, OwnershipIdle } from './ownership-laws.js';
import { NoRestrike, PermitCondition, PermitHeight, PermitWithdrawal, StrayMotion } from './permit-laws.js';
import { qualityResults } from './quality.js';
import { Floor, FollowDownSpeed, ZDive, ZTravel } from './reach-laws.js';
import { Standstill } from './standstill-law.js';
import { RiseAfterFall, StopChainStopsZ } from './stop-laws.js';
import { Stretches } from './stretches.js';
import { TriggerPath, TriggerPermission, TriggerWithdrawal } from './trigger-laws.js';
import { VoltageFalls } from './voltage-law.js';
import { OutsideWindow } from './window-law.js';

/** Every law and figure, judged as a run goes by. One book is for one run, from power-up on. */
export class LawBook implements TraceSink {
  /** The figures of the same run; they need no block of their own. */
  readonly figures: Figures;
  private readonly stretches: Stretches;
  private readonly laws: readonly Law[];
  private readonly parameters: ParametersAtRest;

  /** @param stretches those of a run that is over, to be used again; without them, new ones */
  constructor(
    private readonly context: LawContext,
    stretches: Stretches = new Stretches(),
  ) {
    this.figures = new Figures(context);
    this.stretches = stretches;
    stretches.begin(context);
    this.parameters = new ParametersAtRest(context);
    this.laws = [
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
    ];
  }

  block(block: TraceBlock): void {
    this.stretches.cut(block);
    for (const law of this.laws) law.watch(block, this.stretches);
    this.figures.watch(block, this.stretches);
  }

  /**
   * Says that the box took a new value for a parameter after the outputs of `tick`: a trace does not show it.
   * To be called before the block that holds the tick; law 9 is judged by it.
   */
  parameterChanged(tick: number, id: number): void {
    this.parameters.changed(tick, id);
  }

  /** The laws by number, then the qualities. May be asked at any time. @param figures those of now, if known already */
  results(figures: RunFigures = this.figures.figures()): LawResult[] {
    return [...this.laws.map((law) => law.result()), ...qualityResults(figures, this.context)];
  }

  /** True while no law is broken; a missed quality does not count. */
  kept(): boolean {
    return this.laws.every((law) => !(law.margin < 0));
  }
}
