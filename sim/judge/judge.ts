import type { TraceBlock, TraceSink } from '../run/trace/index.js';
import { arcTruthRequirements } from './arc-truth-requirements.js';
import type { RequirementContext } from './context.js';
import { Figures } from './figures.js';
import { permitRequirements } from './permit-requirements.js';
import { readingTruthRequirements } from './reading-truth-requirements.js';
import { type Requirement, type RequirementResult, refuseOthers } from './requirement.js';
import { ParametersAtRest, sequenceRequirements } from './sequence-requirements.js';
import { Stretches } from './stretches.js';
import type { RunFigures } from './tally.js';
import { torchTruthRequirements } from './torch-truth-requirements.js';
import { triggerRequirements } from './trigger-requirements.js';
import { Ending, type RunEnd, type RunVerdict, verdictOf } from './verdict.js';
import { boundRequirements } from './z-bound-requirements.js';
import { descentRequirements } from './z-descent-requirements.js';
import { speedRequirements } from './z-speed-requirements.js';

/** Every requirement and figure, judged as a run goes by. One judge is for one run, from power-up on. */
export class Judge implements TraceSink {
  /** The figures of the same run; they need no block of their own. */
  readonly figures: Figures;
  /** By number; the one without a number comes last. */
  private readonly requirements: readonly Requirement[];
  private readonly parameters: ParametersAtRest;
  private readonly ending = new Ending();

  /**
   * @param stretches of a finished run, to be reused; without it the judge makes its own
   * @param own requirements beside those of the design, new for this run
   * @throws StandoffError `requirement-form`, `requirement-name` for what `own` may not be
   */
  constructor(
    private readonly context: RequirementContext,
    private readonly stretches = new Stretches(),
    own: readonly Requirement[] = [],
  ) {
    this.figures = new Figures(context);
    stretches.begin(context);
    this.parameters = new ParametersAtRest(context);
    this.requirements = [
      ...triggerRequirements(context),
      ...descentRequirements(context),
      ...boundRequirements(context),
      ...speedRequirements(context),
      ...permitRequirements(context),
      this.parameters,
      ...sequenceRequirements(context),
      ...arcTruthRequirements(context),
      ...torchTruthRequirements(context),
      ...readingTruthRequirements(context),
    ].sort((a, b) => (a.number || Number.POSITIVE_INFINITY) - (b.number || Number.POSITIVE_INFINITY));
    if (own.length === 0) return;
    this.requirements = [...this.requirements, ...own];
    refuseOthers(this.requirements);
  }

  block(block: TraceBlock): void {
    this.stretches.cut(block);
    for (const requirement of this.requirements) requirement.watch(block, this.stretches);
    this.figures.watch(block, this.stretches);
    this.ending.watch(block, this.stretches);
  }

  /**
   * Says that the box took a new value for a parameter after the outputs of `tick`: a trace does not show it. Call it
   * before the block that holds the tick; requirement 9 is judged by it.
   */
  parameterChanged(tick: number, id: number): void {
    this.parameters.changed(tick, id);
  }

  /**
   * The requirements by number, then the quality goals; at any time. @param figures of this moment, if known already
   */
  results(figures: RunFigures = this.figures.figures()): RequirementResult[] {
    const results = this.requirements.map((requirement) => requirement.result());
    const of = (kind: RequirementResult['kind']) => results.filter((result) => result.kind === kind);
    return [...of('requirement'), ...of('goal'), ...goalResults(figures, this.context)];
  }

  /**
   * What the run came to: finished, stopped (by whom, why, where) or broken.
   * @param end how the loop says that it ended @param figures of this moment @param results of this moment, if known already
   */
  verdict(end: RunEnd, figures = this.figures.figures(), results = this.results(figures)): RunVerdict {
    return verdictOf(this.ending.stop(end, figures.faults), results, figures);
  }

  /** True while no requirement is broken; a missed quality goal does not count. */
  kept(): boolean {
    return this.requirements.every(({ kind, margin }) => kind === 'goal' || !(margin < 0));
  }
}

/** The figures of a run against its quality goals. */
function goalResults(figures: RunFigures, { goals, relay_release_ms }: RequirementContext): RequirementResult[] {
  const { corners, crossings } = figures;
  const goal = (
    name: string,
    statement: string,
    unit: string,
    limit: number,
    value: number | null,
    checked: number,
    checked_unit: 'ms' | 'times',
  ): RequirementResult => {
    const margin = value === null ? null : limit - value;
    const kept = margin === null || margin >= 0;
    return { name, number: 0, kind: 'goal', statement, kept, margin, unit, worst_tick: null, checked, checked_unit };
  };
  const following = (name: string, statement: string, limit: number, value: number | null) =>
    goal(name, statement, 'mm', limit, value, Math.round(figures.following_s * 1000), 'ms');
  const dive = (name: string, where: string, limit: number, value: number | null, count: number) =>
    goal(name, `at ${where} the torch goes at most ${limit} mm below cut height`, 'mm', limit, value, count, 'times');
  const { following_rms_mm: rms_mm, following_p999_mm: p999_mm } = goals;
  const released = `the firing contact opens within ${relay_release_ms} ms and a tick of trigger off`;
  const release_ms = figures.relay_release_ms;
  return [
    following(
      'following-rms',
      `while following, the standoff error is at most ${rms_mm} mm rms`,
      rms_mm,
      figures.standoff_error_rms_mm,
    ),
    following(
      'following-p999',
      `while following, the standoff error is within ${p999_mm} mm for 99.9 % of the time`,
      p999_mm,
      figures.standoff_error_p999_mm,
    ),
    dive('corner-dive', 'corners', goals.corner_dive_mm, figures.corner_dive_mm, corners),
    dive('kerf-crossing-dive', 'kerf crossings', goals.kerf_crossing_dive_mm, figures.kerf_crossing_dive_mm, crossings),
    goal('relay-release', released, 'ms', relay_release_ms + 1, release_ms, release_ms === null ? 0 : 1, 'times'),
  ];
}
