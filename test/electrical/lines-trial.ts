import { FAULT_ROWS, REFUSAL_ROWS } from '../../firmware/wire/code-rows.js';
import {
  OUTPUT_FAULT,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_REFUSAL,
  OUTPUT_TRIGGER,
  REFERENCE_COUNTS,
} from '../../firmware/wire/layout.gen.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { type Controller, type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, type OperatorEvent, Runner } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import type { FaultKind } from '../../sim/world/plant/index.js';

/** What a wire does to what passes through it. Steps and bits that are not named pass unchanged. */
export interface Wire {
  /** INPUT_* that the box never sees, and those that it always sees. */
  readonly lines_off?: number;
  readonly lines_on?: number;
  /** OUTPUT_* that never get out of the box, and those that always stand at its terminals. */
  readonly drives_off?: number;
  readonly drives_on?: number;
  readonly x_steps?: (steps: number) => number;
  readonly y_steps?: (steps: number) => number;
  readonly z_steps?: (steps: number) => number;
}

/** The control module behind wires of which one may be broken or bridged from a moment on. */
class Wired implements Controller {
  digital_inputs = 0;
  x_steps = 0;
  y_steps = 0;
  reference = REFERENCE_COUNTS;
  now_ms = 0;
  private wire: Wire = {};

  constructor(
    private readonly box: WasmController,
    private readonly broken: Wire,
    private readonly at_ms: number,
  ) {}

  tick(): void {
    if (this.now_ms++ >= this.at_ms) this.wire = this.broken;
    const { wire, box } = this;
    box.digital_inputs = (this.digital_inputs & ~(wire.lines_off ?? 0)) | (wire.lines_on ?? 0);
    box.x_steps = wire.x_steps?.(this.x_steps) ?? this.x_steps;
    box.y_steps = wire.y_steps?.(this.y_steps) ?? this.y_steps;
    box.reference = this.reference;
    box.tick();
  }

  get readings() {
    return this.box.readings;
  }
  get z_steps() {
    return this.wire.z_steps?.(this.box.z_steps) ?? this.box.z_steps;
  }
  get digital_outputs() {
    return (this.box.digital_outputs & ~(this.wire.drives_off ?? 0)) | (this.wire.drives_on ?? 0);
  }
  /** What the box itself says, before any wire. */
  get said() {
    return this.box.digital_outputs;
  }
  get output() {
    return this.box.output;
  }
  get module_sha256() {
    return this.box.module_sha256;
  }
  setParameter(id: number, value: number) {
    return this.box.setParameter(id, value);
  }
  parameter(id: number) {
    return this.box.parameter(id);
  }
}

/** Moments at which a wire or a part fails. */
export const MOMENTS = ['from power-up', 'in the cut'] as const;
export type Moment = (typeof MOMENTS)[number];
/** By then the cut below follows its first side; the sound run of the test shows it. */
const IN_THE_CUT_ms = 9000;
/** The run goes on this long after its end: a firing circuit that does not let go is noticed fall_ms later. */
const AFTER_ms = 2000;
/** Above this the torch is live: a pilot or a cutting arc burns, or the supply stands at no load. */
const LIVE_V = 10;

export interface Trial {
  /** Names of the faults, in their order. */
  readonly faults: readonly string[];
  /** Why the box would not begin, at the end of the run; `none` when it would. */
  readonly refusal: string;
  readonly starts: number;
  readonly permit: boolean;
  readonly cut_mm: number;
  readonly finished: boolean;
  readonly contacts: number;
  /** From the failure until the box's own trigger output was off for good, ms; 0: it was off by then. */
  readonly trigger_ms: number;
  /** From the failure until there was no more voltage at the torch, ms; 0: there was none; Infinity: it stays. */
  readonly live_ms: number;
  /** From the failure until the latched stop opened, ms; undefined: it did not. */
  readonly latched_ms: number | undefined;
  readonly error_mm: number | null;
}

export interface Question {
  readonly moment: Moment;
  readonly wire?: Wire;
  /** A fault of the world. */
  readonly kind?: FaultKind;
  readonly value?: number;
  readonly operator?: readonly OperatorEvent[];
  /** Parameters that differ from the example's. */
  readonly box?: Readonly<Record<string, number>>;
}

const PROGRAM = 'G21 G90 F3000\nG0 X200 Y150\nM3\nG1 X450\nG1 Y250\nM5\nG4 P1\nM2\n';

/** One cut with one corner on the example's table, with one thing failing. */
export function tryLines(module: ControlModule, question: Question): Trial {
  const { moment, wire = {}, kind, value, operator, box } = question;
  const at_ms = moment === 'from power-up' ? 0 : IN_THE_CUT_ms;
  const example = exampleSetup();
  const setup = { ...example, box: { ...example.box, ...box } };
  const { machine } = setup;
  const fault = kind && { kind, at_s: Math.max(50, at_ms) / 1000, ...(value !== undefined && { value }) };
  const world = { ...setup.world, faults: fault ? [fault] : [] };
  const plan = planProgram(parseProgram(PROGRAM, 'trial cut'), motionLimits(machine));
  const controller = new Wired(new WasmController(module), wire, at_ms);
  const context = requirementContext(setup.box, { relay_release_ms: machine.firing.relay_release_ms });
  const judge = new Judge(context);
  const runner = new Runner({
    box: setup.box,
    machine,
    world,
    plan,
    seed: 1,
    controller,
    ...(operator && { operator }),
  });
  const seen = { faults: [] as string[], permit: false, starts: 0, trigger_ms: -1, live_ms: -1, latched_ms: -1 };
  let fault_before = 0;
  const { output } = controller;
  let after_ms = 0;
  while (!runner.finished || after_ms++ < AFTER_ms) {
    runner.world.cells.loop.finished = 0;
    const now_ms = runner.tick;
    runner.runBlock(1);
    judge.block(runner.block);
    const code = output.integers[OUTPUT_FAULT / 4];
    if (code !== fault_before && code !== 0) seen.faults.push(FAULT_ROWS[code].name);
    fault_before = code;
    if (controller.digital_outputs & OUTPUT_PERMIT) seen.permit = true;
    if (controller.said & OUTPUT_TRIGGER) seen.trigger_ms = now_ms;
    if (runner.world.cells.arc.true_V > LIVE_V) seen.live_ms = now_ms;
    if (controller.said & OUTPUT_LATCHED_STOP && seen.latched_ms < 0) seen.latched_ms = now_ms;
  }
  const figures = judge.figures.figures();
  const after = (ms: number) => Math.max(0, ms + 1 - at_ms);
  return {
    faults: seen.faults,
    refusal: REFUSAL_ROWS[output.integers[OUTPUT_REFUSAL / 4]].name,
    starts: figures.starts,
    permit: seen.permit,
    cut_mm: figures.cut_length_mm,
    finished: runner.outcome.ended === 'finished',
    contacts: figures.contacts,
    trigger_ms: after(seen.trigger_ms),
    live_ms: runner.world.cells.arc.true_V > LIVE_V ? Infinity : after(seen.live_ms),
    latched_ms: seen.latched_ms < at_ms ? undefined : after(seen.latched_ms),
    error_mm: figures.standoff_error_p999_mm,
  };
}
