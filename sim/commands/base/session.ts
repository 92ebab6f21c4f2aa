import { Judge, requirementContext } from '../../judge/index.js';
import { type ControlModule, WasmController } from '../../run/controller/index.js';
import { Runner } from '../../run/loop/index.js';
import { TraceHash, type TraceSink } from '../../run/trace/index.js';
import { type LiveSource, type RunOutcome, type SimulatedScene, ViewHistory } from '../../views/terminal/index.js';
import { ArcLog } from './arc-log.js';
import type { Job } from './inputs.js';

/** How a run ended, or that it was broken off from outside. */
export interface SessionOutcome extends RunOutcome {
  readonly ticks: number;
}

/** One run of one job with everything that watches it. */
export class Session implements LiveSource {
  readonly judge: Judge;
  readonly scene: SimulatedScene;
  /** What the pictures are drawn from; absent when none will be drawn. */
  readonly history: ViewHistory<SimulatedScene> | undefined;
  readonly module_sha256: string;
  readonly arcs: ArcLog;
  private readonly runner: Runner;
  private readonly hash = new TraceHash();
  private readonly sinks: TraceSink[];
  private broken_off = '';

  /**
   * @param pictures whether to keep what pictures are drawn from
   * @throws StandoffError when the controller refuses a parameter
   */
  constructor(
    readonly job: Job,
    module: ControlModule,
    pictures: boolean,
  ) {
    const { plan, scenario } = job;
    const { setup, seed, operator } = scenario;
    const { box, machine, world } = setup;
    const controller = new WasmController(module);
    this.module_sha256 = controller.module_sha256;
    this.runner = new Runner({ box, machine, world, plan, seed, controller, ...(operator && { operator }) });
    const context = requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms });
    this.judge = new Judge(context);
    this.scene = {
      program: scenario.program.name,
      contours: plan.contours.length,
      cut_height_mm: box.cut_height_mm!,
      pierce_height_mm: box.pierce_height_mm!,
      thickness_mm: machine.table.sheet_thickness_mm,
      tolerance_mm: context.goals.following_p999_mm,
    };
    this.history = pictures ? new ViewHistory(this.scene) : undefined;
    this.arcs = new ArcLog(plan.contours);
    this.sinks = [this.judge, this.hash, this.arcs];
  }

  /** Adds something that watches, such as a trace file; before the first `advance`. */
  addSink(sink: TraceSink): void {
    this.sinks.push(sink);
  }

  /** Simulates up to this many ticks, at most a block. */
  advance(ticks?: number): void {
    const { runner } = this;
    runner.runBlock(ticks);
    this.history?.add(runner.block);
    for (const sink of this.sinks) sink.block(runner.block);
  }

  /** Marks the run as broken off; what was recorded up to here stands. */
  breakOff(reason: string): void {
    if (!this.runner.finished) this.broken_off = reason;
  }

  get finished(): boolean {
    return this.runner.finished;
  }

  get progress(): number {
    return this.runner.player.progress;
  }

  get remaining_s(): number {
    return this.runner.player.remaining_s;
  }

  get outcome(): SessionOutcome {
    const { outcome } = this.runner;
    return this.broken_off === '' ? outcome : { ...outcome, ended: 'interrupted', reason: this.broken_off };
  }

  get trace_hash(): string {
    return this.hash.hex();
  }
}
