import { OUTPUT_PERMIT, OUTPUT_TRIGGER } from '../../../firmware/wire/layout.gen.js';
import { Judge, requirementContext } from '../../../sim/judge/index.js';
import { type ControlModule, WasmController } from '../../../sim/run/controller/index.js';
import { motionLimits, run } from '../../../sim/run/loop/index.js';
import type { Setup } from '../../../sim/run/setup/index.js';
import type { TraceBlock, TraceSink } from '../../../sim/run/trace/index.js';
import { parseProgram, planProgram } from '../../../sim/world/motion/index.js';
import type { Fault } from '../../../sim/world/plant/index.js';

/** One cut of a sweep: all that decides what becomes of it. */
export interface SweepCase {
  readonly setup: Setup;
  readonly program: string;
  readonly seed: number;
  /** What breaks, so many seconds after the motion permit that the same cut has without it. */
  readonly breaks?: { readonly kind: Fault['kind']; readonly after_permit_s: number };
}

/** What became of it; mm. A figure that the cut says nothing about is NaN. */
export interface SweepResult {
  readonly mean_mm: number;
  readonly rms_mm: number;
  /** The least standoff while the trigger is on or an arc burns, from the motion permit on. */
  readonly live_least_mm: number;
  readonly reversals_per_s: number;
  readonly faults: readonly string[];
  readonly broken: readonly string[];
  /** The box gave a motion permit; without one there is nothing to see. */
  readonly permitted: boolean;
}

/** The first motion permit, and how near a live torch comes after it. */
class Live implements TraceSink {
  permit_s = Number.NaN;
  least_mm = Number.POSITIVE_INFINITY;

  block({ count, first_tick, burning, digital_outputs, standoff_mm }: TraceBlock): void {
    for (let row = 0; row < count; row++) {
      if (Number.isNaN(this.permit_s) && digital_outputs[row] & OUTPUT_PERMIT)
        this.permit_s = (first_tick + row) / 1000;
      if (Number.isNaN(this.permit_s) || !(burning[row] || digital_outputs[row] & OUTPUT_TRIGGER)) continue;
      this.least_mm = Math.min(this.least_mm, standoff_mm[row]);
    }
  }
}

function once(module: ControlModule, { setup, program, seed }: SweepCase, faults: readonly Fault[]) {
  const { box, machine } = setup;
  const world = { ...setup.world, faults: [...faults] };
  const plan = planProgram(parseProgram(program, 'sweep.nc'), motionLimits(machine));
  const judge = new Judge(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
  const live = new Live();
  run({ box, machine, world, plan, seed, controller: new WasmController(module) }, [judge, live]);
  return { judge, live };
}

/** Cuts it; with something that breaks, twice: first to see when the permit comes. */
export function sweepCut(module: ControlModule, one: SweepCase): SweepResult {
  let { judge, live } = once(module, one, []);
  const permitted = !Number.isNaN(live.permit_s);
  if (one.breaks !== undefined && permitted) {
    const { kind, after_permit_s } = one.breaks;
    ({ judge, live } = once(module, one, [{ kind, at_s: live.permit_s + after_permit_s }]));
  }
  const figures = judge.figures.figures();
  return {
    mean_mm: figures.standoff_error_mean_mm ?? Number.NaN,
    rms_mm: figures.standoff_error_rms_mm ?? Number.NaN,
    live_least_mm: live.least_mm,
    reversals_per_s: figures.reversals_per_s ?? Number.NaN,
    faults: figures.faults.map(({ name }) => name),
    broken: judge.results().flatMap(({ kind, kept, name }) => (kind === 'requirement' && !kept ? [name] : [])),
    permitted,
  };
}
