import { TICKS_PER_S } from '../../base/index.js';
import type { ArcTime } from '../../electrical/index.js';
import { type TraceBlock, type TraceSink, TraceHash } from '../trace/index.js';
import { Judge, requirementContext } from '../../judge/index.js';
import { type ControlModule, WasmController } from '../controller/index.js';
import { Runner } from '../loop/index.js';
import { type LiveSource, type RunOutcome, ViewHistory, type ViewScene } from '../../views/terminal/index.js';
import type { Job } from '../../commands/base/inputs.js';

/** Notes when an arc burns on the work; the pilot arc before it is not counted. */
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
        this.line = this.contours[block.contour[row]!]?.first_line ?? block.line[row]!;
      } else {
        this.close(block.first_tick + row);
      }
    }
    this.tick = block.first_tick + block.count;
  }

  /** The arcs so far; one that still burns ends with the last tick seen. */
  arcs(): readonly ArcTime[] {
    if (this.from_tick < 0) return this.done;
    return [...this.done, this.arc(this.tick)];
  }

  private close(tick: number): void {
    this.done.push(this.arc(tick));
    this.from_tick = -1;
  }

  private arc(to_tick: number): ArcTime {
    return { from_s: this.from_tick / TICKS_PER_S, to_s: to_tick / TICKS_PER_S, line: this.line };
  }
}

/** How a run ended, or that it was broken off from outside. */
interface SessionOutcome extends RunOutcome {
  readonly ticks: number;
}

/** One run of one job with everything that watches it. */
export class Session implements LiveSource {
  readonly judge: Judge;
  readonly scene: ViewScene;
  /** What the pictures are drawn from; absent when none will be drawn. */
  readonly history: ViewHistory | undefined;
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
      tolerance_mm: context.tolerances.following_p999_mm,
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
