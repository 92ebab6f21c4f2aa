/**
 * A stranger's program: one cut with controllers of its own around the control module. Prints what came of each as JSON. It
 * imports the package by its name and nothing else of it.
 */
import {
  type Controller,
  exampleSetup,
  Judge,
  loadControlModule,
  motionLimits,
  OUTPUT_TRIGGER,
  parseProgram,
  planProgram,
  requirementContext,
  run,
  WasmController,
} from 'standoff';

const PROGRAM = 'G21 G90\nG0 X20 Y20\nM3\nG1 X80 Y20 F2400\nG1 X80 Y60\nG1 X20 Y60\nM5\nM2\n';

/** The control module behind something of ours: Z steps that come late, and a trigger that lets go late. */
class LateController extends WasmController implements Controller {
  private readonly steps: number[];
  private readonly triggers: number[];
  private now_steps = 0;
  private now_trigger = 0;

  /** @param steps_ms delay of the Z steps, ms @param trigger_ms time for which the trigger is held on, ms */
  constructor(steps_ms: number, trigger_ms: number) {
    super(loadControlModule());
    this.steps = Array.from({ length: steps_ms }, () => 0);
    this.triggers = Array.from({ length: trigger_ms }, () => 0);
  }

  override tick(): void {
    super.tick();
    this.steps.push(super.z_steps);
    this.now_steps = this.steps.shift() ?? 0;
    this.triggers.push(super.digital_outputs & OUTPUT_TRIGGER);
    this.now_trigger = this.triggers.some((on) => on !== 0) ? OUTPUT_TRIGGER : 0;
    this.triggers.shift();
  }

  override get z_steps(): number {
    return this.now_steps;
  }

  override get digital_outputs(): number {
    return super.digital_outputs | this.now_trigger;
  }
}

function cut(controller: Controller) {
  const { box, machine, world } = exampleSetup();
  const plan = planProgram(parseProgram(PROGRAM, 'three-sides.nc'), motionLimits(machine));
  const judge = new Judge(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
  const outcome = run({ box, machine, world, plan, seed: 7, controller }, [judge]);
  return {
    ended: outcome.ended,
    rms_mm: judge.figures.figures().standoff_error_rms_mm,
    broken: judge.results().flatMap(({ kind, kept, name }) => (kind === 'requirement' && !kept ? [name] : [])),
  };
}

console.log(
  JSON.stringify({
    prompt: cut(new LateController(0, 0)),
    late: cut(new LateController(10, 0)),
    held: cut(new LateController(0, 40)),
  }),
);
