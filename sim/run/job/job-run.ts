import { TICKS_PER_S } from '../../base/index.js';
import type { ArcTime } from '../../electrical/index.js';
import { Judge, type RequirementContext, type RunVerdict, requirementContext } from '../../judge/index.js';
import { loadWorldModule } from '../../world/cells/index.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { type Outcome, Runner } from '../loop/index.js';
import { type TraceBlock, TraceHash, type TraceSink } from '../trace/index.js';
import type { Job } from './job.js';

/** How a run ended; `interrupted`: it was broken off from outside. */
export interface JobOutcome extends Omit<Outcome, 'ended'> {
  readonly ended: Outcome['ended'] | 'interrupted';
}

/** One run of one job, judged as it goes by. */
export class JobRun {
  readonly judge: Judge;
  /** What the run is judged against. */
  readonly context: RequirementContext;
  readonly module_sha256: string;
  readonly world_sha256 = loadWorldModule().sha256;
  private readonly runner: Runner;
  private readonly hash = new TraceHash();
  private readonly arc_log: ArcLog;
  private readonly sinks: TraceSink[];
  private broken_off = '';

  /** @throws StandoffError when the controller refuses a parameter */
  constructor(
    readonly job: Job,
    module: ControlModule,
  ) {
    const { plan, scenario } = job;
    const { setup, seed, operator } = scenario;
    const { box, machine, world } = setup;
    const controller = new WasmController(module);
    this.module_sha256 = controller.module_sha256;
    this.runner = new Runner({ box, machine, world, plan, seed, controller, ...(operator && { operator }) });
    this.context = requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms });
    this.judge = new Judge(this.context);
    this.arc_log = new ArcLog(plan.contours);
    this.sinks = [this.judge, this.hash, this.arc_log];
  }

  /** Adds something that watches, such as a trace file or a view; before the first `advance`. */
  addSink(sink: TraceSink): void {
    this.sinks.push(sink);
  }

  /** Simulates up to this many ticks, at most a block. */
  advance(ticks?: number): void {
    this.runner.runBlock(ticks);
    for (const sink of this.sinks) sink.block(this.runner.block);
  }

  /** Marks the run as broken off; what was recorded up to here stands. */
  breakOff(reason: string): void {
    if (!this.runner.finished) this.broken_off = reason;
  }

  get finished(): boolean {
    return this.runner.finished;
  }

  /** Share of the program that is done, 0…1. */
  get progress(): number {
    return this.runner.player.progress;
  }

  /** Simulated time to go, s; NaN while it is not known. */
  get remaining_s(): number {
    return this.runner.player.remaining_s;
  }

  get outcome(): JobOutcome {
    const { outcome } = this.runner;
    return this.broken_off === '' ? outcome : { ...outcome, ended: 'interrupted', reason: this.broken_off };
  }

  /** What it came to: finished, stopped or broken; as far as it got. */
  get verdict(): RunVerdict {
    return this.judge.verdict(this.outcome);
  }

  /** Times with an arc on the work so far, in order; the pilot arc before each is left out. */
  get arcs(): readonly ArcTime[] {
    return this.arc_log.arcs();
  }

  /** Hash of the recorded run; equal runs have equal ones. */
  get trace_hash(): string {
    return this.hash.hex();
  }
}

/** Notes when an arc burns on the work. */
class ArcLog implements TraceSink {
  private readonly done: ArcTime[] = [];
  private from_tick = -1;
  private line = 0;
  private tick = 0;

  /** @param contours of the plan, with the line of their M3 */
  constructor(private readonly contours: readonly { readonly first_line: number }[]) {}

  block(block: TraceBlock): void {
    for (let row = 0; row < block.count; row++) {
      const burning = block.burning[row] !== 0;
      if (burning === this.from_tick >= 0) continue;
      if (burning) {
        this.from_tick = block.first_tick + row;
        this.line = this.contours[block.contour[row]]?.first_line ?? block.line[row];
      } else {
        this.done.push(this.arc(block.first_tick + row));
        this.from_tick = -1;
      }
    }
    this.tick = block.first_tick + block.count;
  }

  /** The arcs so far; one that still burns ends with the last recorded tick. */
  arcs(): readonly ArcTime[] {
    return this.from_tick < 0 ? this.done : [...this.done, this.arc(this.tick)];
  }

  private arc(to_tick: number): ArcTime {
    return { from_s: this.from_tick / TICKS_PER_S, to_s: to_tick / TICKS_PER_S, line: this.line };
  }
}
