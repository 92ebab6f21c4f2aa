import type { TraceBlock, TraceSink } from '../trace/index.js';
import type { LawContext } from './context.js';
import { Figures } from './figures.js';
import type { Law, LawResult } from './law.js';
import { qualityResults } from './quality.js';
import { Stretches } from './stretches.js';
import { TriggerPath, TriggerPermission, TriggerWithdrawal } from './trigger-laws.js';

/** Every law and figure, judged as a run goes by. One book is for one run, from power-up on. */
export class LawBook implements TraceSink {
  /** The figures of the same run; they need no block of their own. */
  readonly figures: Figures;
  private readonly stretches: Stretches;
  private readonly laws: readonly Law[];

  constructor(private readonly context: LawContext) {
    this.figures = new Figures(context);
    this.stretches = new Stretches(context);
    this.laws = [new TriggerPermission(), new TriggerWithdrawal(), new TriggerPath()];
  }

  block(block: TraceBlock): void {
    this.stretches.cut(block);
    for (const law of this.laws) law.watch(block, this.stretches);
    this.figures.watch(block, this.stretches);
  }

  /** The laws by number, then the qualities. May be asked at any time. */
  results(): LawResult[] {
    return [...this.laws.map((law) => law.result()), ...qualityResults(this.figures.figures(), this.context)];
  }

  /** True while no law is broken; a missed quality does not count. */
  kept(): boolean {
    return this.laws.every((law) => !(law.margin < 0));
  }
}
