import { INPUT_BREAKAWAY, INPUT_STOP_CHAIN } from '../../firmware/wire/layout.gen.js';
import { EmulatedBoard, EmulatedController, type EmulatedControllerOptions } from '../../sim/emulator/index.js';
import { Judge, type RequirementResult, type RunFigures, requirementContext } from '../../sim/judge/index.js';
import type { Controller } from '../../sim/run/controller/index.js';
import { motionLimits, type OperatorEvent, type Outcome, Runner } from '../../sim/run/loop/index.js';
import type { Setup } from '../../sim/run/setup/index.js';
import type { TraceBlock } from '../../sim/run/trace/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { loadImage, loadLoader } from './images.js';

/** Lines of a machine that is switched on and does nothing. */
export const RESTING = INPUT_STOP_CHAIN | INPUT_BREAKAWAY;

/** The shipped loader and image on the emulated board, started, as a controller. */
export async function emulatedBox(options: EmulatedControllerOptions = {}): Promise<EmulatedController> {
  const board = await EmulatedBoard.create({ loader: loadLoader(), image: loadImage() });
  return new EmulatedController(board, { digital_inputs: RESTING, ...options });
}

export interface CutResult {
  readonly outcome: Outcome;
  readonly figures: RunFigures;
  readonly requirements: readonly RequirementResult[];
}

export interface CutOptions {
  readonly program: string;
  readonly setup: Setup;
  readonly controller: Controller;
  readonly operator?: readonly OperatorEvent[];
  readonly watch?: (block: TraceBlock) => void;
  /** Ticks after which the run is left as it is. */
  readonly most_ticks?: number;
}

/** Cuts a program with this controller. */
export function cutWith(options: CutOptions): CutResult {
  const { program, setup, controller, operator, watch, most_ticks = Number.POSITIVE_INFINITY } = options;
  const { box, machine, world } = setup;
  const plan = planProgram(parseProgram(program, 'test.nc'), motionLimits(machine));
  const runner = new Runner({ box, machine, world, plan, seed: 1, controller, ...(operator && { operator }) });
  const judge = new Judge(requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms }));
  while (!runner.finished && runner.tick < most_ticks) {
    runner.runBlock(Math.min(1000, most_ticks - runner.tick));
    judge.block(runner.block);
    watch?.(runner.block);
  }
  return { outcome: runner.outcome, figures: judge.figures.figures(), requirements: judge.results() };
}

export const broken = ({ requirements }: CutResult): string[] =>
  requirements
    .filter((requirement) => requirement.kind === 'requirement' && !requirement.kept)
    .map((requirement) => requirement.name);
