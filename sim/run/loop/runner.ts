import {
  INPUT_DIGITAL,
  INPUT_READINGS,
  INPUT_REFERENCE,
  INPUT_X_STEPS,
  INPUT_Y_STEPS,
  OUTPUT_DIGITAL,
  OUTPUT_Z_STEPS,
  SET_DONE,
  SET_RANGE,
} from '../../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS, type ParameterName } from '../../../firmware/wire/parameter-rows.js';
import { READINGS_PER_TICK, StandoffError, TICKS_PER_S } from '../../base/index.js';
import { standAlone, WorldInstance } from '../../world/cells/index.js';
import {
  type MotionLimits,
  MotionPlayer,
  MotionState,
  type Plan,
  STOP_REASON_TEXTS,
} from '../../world/motion/index.js';
import {
  MACHINE_ROWS,
  type MachineConfig,
  refuseOtherNames,
  WORLD_ROWS,
  World,
  type WorldConfig,
} from '../../world/plant/index.js';
import { type Controller, WasmController } from '../controller/index.js';
import { BLOCK_TICKS, newBlock, type TraceBlock, type TraceSink } from '../trace/index.js';
import { Operator, type OperatorEvent, PLAIN_OPERATOR } from './inputs.js';

/** What the table can do, for the planner. */
export function motionLimits({ table }: MachineConfig): MotionLimits {
  const { acceleration_mm_s2, braking_mm_s2, rapid_mm_s, corner_velocity_step_mm_s, torch_off_mm_s } = table;
  return { acceleration_mm_s2, braking_mm_s2, rapid_mm_s, corner_velocity_step_mm_s, torch_off_mm_s };
}

const ROWS = new Map(PARAMETER_ROWS.map((row) => [row.name as string, row]));

/**
 * Gives the controller its parameters, one by one, as the link does.
 * @throws StandoffError parameter-unknown, parameter-range, parameter-refused
 */
export function setParameters(controller: Controller, box: Readonly<Record<string, number>>): void {
  for (const [name, value] of Object.entries(box)) {
    const row = ROWS.get(name);
    if (row === undefined) {
      throw new StandoffError('parameter-unknown', `there is no parameter ${name}`, 'see the table of parameters');
    }
    const answer = controller.setParameter(row.id, value);
    if (answer === SET_DONE) continue;
    if (answer === SET_RANGE) {
      const range = `${row.min} to ${row.max} ${row.unit}${row.integer ? ', whole' : ''}`;
      throw new StandoffError('parameter-range', `${name} = ${value} is outside its range`, `give ${range}`);
    }
    throw new StandoffError(
      'parameter-refused',
      `the box does not take ${name} = ${value} now`,
      'turn the key off, wait until it is at rest and the voltage near zero',
    );
  }
}

/** What is cut, with what, by whom. */
export interface RunOptions {
  /** Every parameter of the box by name. */
  readonly box: Readonly<Record<ParameterName, number>>;
  readonly machine: MachineConfig;
  readonly world: WorldConfig;
  readonly plan: Plan;
  /** Any 32-bit integer; the same seed gives the same run. */
  readonly seed: number;
  /** Its memory holds the world too: one run at a time. */
  readonly controller: Controller;
  /** What the operator does; without it, the key goes on and the program runs. */
  readonly operator?: readonly OperatorEvent[];
}

/** How a run ended. */
export interface Outcome {
  /** `finished`: the program came to its end. `stopped`: it did not. `limit`: it had to be broken off. */
  readonly ended: 'finished' | 'stopped' | 'limit';
  /** In words; empty when finished. */
  readonly reason: string;
  /** Line of the program that was reached. */
  readonly line: number;
  readonly ticks: number;
}

const MS_PER_S = TICKS_PER_S;
/** Time that a contour may take besides its motion (touch-off, strikes, pierce, retract), s. */
const EXTRA_S_PER_CONTOUR = 40;

/**
 * Closes the loop in lockstep: once a tick the controller gets what the world and the table show, and the world
 * and the table get what the controller says. The loop itself stands in the world module; here it is cut wherever the
 * operator or a fault changes something. The world never sees the controller, nor the controller the world.
 */
export class Runner {
  /** The last rows that were run; in the memory of the world. */
  readonly block: TraceBlock;
  readonly player: MotionPlayer;
  readonly world: World;
  readonly controller: Controller;

  private readonly operator: Operator;
  private readonly instance: WorldInstance;
  private readonly loop: WorldInstance['cells']['loop'];

  /**
   * @throws StandoffError `parameter-…` for a parameter that is unknown or not taken; `path-unknown`, `value-type`,
   *   `fault-…` for what machine and world do not have; `operator-line`; `module-…`
   */
  constructor(options: RunOptions) {
    const { machine, world, plan, seed, controller } = options;
    refuseOtherNames('machine', machine, MACHINE_ROWS);
    refuseOtherNames('world', world, WORLD_ROWS);
    setParameters(controller, options.box);
    this.controller = controller;
    this.operator = new Operator(options.operator ?? PLAIN_OPERATOR);
    const instance = worldOf(controller);
    this.instance = instance;
    this.player = new MotionPlayer(
      plan,
      {
        steps_per_mm: machine.table.x_steps_per_mm,
        permit_use: machine.table.permit_watched ? 'watched' : 'start-only',
      },
      instance,
    );
    this.world = new World(machine, world, seed, instance);
    this.loop = instance.cells.loop;
    this.loop.limit_ticks = (plan.duration_s + EXTRA_S_PER_CONTOUR * (plan.contours.length + 1)) * MS_PER_S;
    this.block = newBlock(instance.buffer, instance.block_at);
  }

  /** Milliseconds from power-up. */
  get tick(): number {
    return this.loop.tick;
  }

  get finished(): boolean {
    return this.loop.finished !== 0;
  }

  /** Runs up to one second (`ticks` at most) into `block`, whose rows then stand for these ticks alone. */
  runBlock(ticks: number = BLOCK_TICKS): void {
    const { block, loop, operator, world } = this;
    block.first_tick = loop.tick;
    let row = 0;
    const most = Math.min(ticks, BLOCK_TICKS);
    while (row < most && loop.finished === 0) {
      operator.advance(loop.tick);
      world.turnFaults(loop.tick);
      loop.operator_inputs = operator.digital_inputs;
      loop.request_through = operator.request_through ? 1 : 0;
      const event_row = row + Math.ceil(Math.min(operator.next_tick, world.next_fault_tick) - loop.tick);
      row = this.instance.module.run(row, Math.min(most, event_row));
    }
    block.count = row;
  }

  /** How it ended, or how it stands. */
  get outcome(): Outcome {
    const { state, stop_reason, line } = this.player.table;
    const ticks = this.tick;
    if (state === MotionState.finished) return { ended: 'finished', reason: '', line, ticks };
    const reason = STOP_REASON_TEXTS[stop_reason];
    if (state === MotionState.stopped) return { ended: 'stopped', reason, line, ticks };
    return { ended: 'limit', reason: 'the program did not come to an end in the time it should need', line, ticks };
  }
}

/** One for each controller, so that the runs of a campaign share it. */
const WORLDS = new WeakMap<Controller, WorldInstance>();

/** The world module behind a controller, as new. */
function worldOf(controller: Controller): WorldInstance {
  const known = WORLDS.get(controller);
  if (known !== undefined) {
    known.reset();
    return known;
  }
  const direct = controller instanceof WasmController && controller.runsLinked;
  const made = direct ? linkedTo(controller) : tickByTick(controller);
  WORLDS.set(controller, made);
  return made;
}

/** The loop calls the control module itself. */
function linkedTo(controller: WasmController): WorldInstance {
  const { memory, tick, input, output } = controller.linked;
  const grow = (pages: number): void => controller.grow(pages);
  return new WorldInstance({ memory, tick, grow, input_at: input(), output_at: output() });
}

/** The loop with any other controller: its blocks are copied each tick. */
function tickByTick(controller: Controller): WorldInstance {
  const made = new WorldInstance(
    standAlone(() => {
      const { integers } = made;
      const input = made.input_at / 4;
      const output = made.output_at / 4;
      const readings = new Uint16Array(integers.buffer, made.input_at + INPUT_READINGS, READINGS_PER_TICK);
      controller.readings.set(readings);
      controller.digital_inputs = integers[input + INPUT_DIGITAL / 4];
      controller.reference = integers[input + INPUT_REFERENCE / 4];
      controller.x_steps = integers[input + INPUT_X_STEPS / 4];
      controller.y_steps = integers[input + INPUT_Y_STEPS / 4];
      controller.tick();
      integers.set(controller.output.integers, output);
      integers[output + OUTPUT_DIGITAL / 4] = controller.digital_outputs;
      integers[output + OUTPUT_Z_STEPS / 4] = controller.z_steps;
    }),
  );
  return made;
}

/**
 * Runs a cut from power-up to its end; every sink sees every second.
 * @throws StandoffError as the constructor of Runner does
 */
export function run(options: RunOptions, sinks: readonly TraceSink[]): Outcome {
  const runner = new Runner(options);
  while (!runner.finished) {
    runner.runBlock();
    for (const sink of sinks) sink.block(runner.block);
  }
  return runner.outcome;
}
