import { MODE_FAULT, MODE_REST } from '../../../firmware/wire/codes.gen.js';
import {
  INPUT_BREAKAWAY,
  INPUT_OVERRUN,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_SUPPLY_CONTACT,
  INPUT_TOP,
  INPUT_TOUCH,
  OUTPUT_LATCHED_STOP,
  OUTPUT_MODE,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
  OUTPUT_Z_OWNED,
  SET_DONE,
  SET_RANGE,
} from '../../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS, type ParameterName } from '../../../firmware/wire/parameter-rows.js';
import { StandoffError, TICKS_PER_S } from '../../base/index.js';
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
import type { Controller } from '../controller/index.js';
import { BLOCK_TICKS, type BlockToFill, newBlock, type TraceSink } from '../trace/index.js';
import { Operator, type OperatorEvent, PLAIN_OPERATOR } from './inputs.js';
import { Recorder } from './record.gen.js';

/** What the table can do, for the planner. */
export function motionLimits({ table }: MachineConfig): MotionLimits {
  const { acceleration_mm_s2, braking_mm_s2, rapid_mm_s, corner_velocity_step_mm_s } = table;
  return { acceleration_mm_s2, braking_mm_s2, rapid_mm_s, corner_velocity_step_mm_s };
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
  readonly controller: Controller;
  /** What the operator does; without it, the key goes on and the program runs. */
  readonly operator?: readonly OperatorEvent[];
  /** The block to fill, such as that of a run that is over; without it, a new one. */
  readonly block?: BlockToFill;
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

// Of this module's own, because the engine folds its constants and not imported ones.
const AT_MODE = OUTPUT_MODE / 4;
const TRIGGER = OUTPUT_TRIGGER;
const PERMIT = OUTPUT_PERMIT;
const LATCHED_STOP = OUTPUT_LATCHED_STOP;
const Z_OWNED = OUTPUT_Z_OWNED;
const MS_PER_S = TICKS_PER_S;
const STOPPED = MotionState.stopped;
const REST = MODE_REST;
const FAULT = MODE_FAULT;
const BREAKAWAY_BIT = INPUT_BREAKAWAY;
const REQUEST_BIT = INPUT_REQUEST;
const SUPPLY_CONTACT_BIT = INPUT_SUPPLY_CONTACT;
const TOP_BIT = INPUT_TOP;
const TOUCH_BIT = INPUT_TOUCH;
const OVERRUN_BIT = INPUT_OVERRUN;
const RELAY_BIT = INPUT_RELAY;
const FINISHED = MotionState.finished;

/** The motion controller has homed Z before the run: its top switch is seen for this long, ms. */
const HOMED_MS = 50;
/** The program starts this long after power-up, ms. */
const START_MS = 400;
/** After the end of the program the run goes on this long, so that the end is in the record, ms. */
const AFTER_MS = 300;
/** Time that a contour may take besides its motion (touch-off, strikes, pierce, retract), s. */
const EXTRA_S_PER_CONTOUR = 40;

/**
 * Closes the loop in lockstep: once a tick the controller gets what the world and the table show, and the world
 * and the table get what the controller says. The world never sees the controller, nor the controller the world.
 */
export class Runner {
  readonly block: BlockToFill;
  readonly player: MotionPlayer;
  readonly world: World;
  readonly controller: Controller;
  finished = false;
  tick = 0;

  private readonly operator: Operator;
  private readonly recorder: Recorder;
  private readonly limit_ticks: number;
  private path_mm = 0;
  private after_ms = 0;

  /**
   * @throws StandoffError `parameter-…` for a parameter that is unknown or not taken; `path-unknown`, `value-type`,
   *   `fault-…` for what machine and world do not have; `operator-line`
   */
  constructor(options: RunOptions) {
    const { machine, world, plan, seed, controller } = options;
    refuseOtherNames('machine', machine, MACHINE_ROWS);
    refuseOtherNames('world', world, WORLD_ROWS);
    setParameters(controller, options.box);
    this.controller = controller;
    this.block = options.block ?? newBlock();
    this.world = new World(machine, world, seed, controller.readings);
    this.player = new MotionPlayer(plan, {
      steps_per_mm: machine.table.x_steps_per_mm,
      permit_use: machine.table.permit_watched ? 'watched' : 'start-only',
    });
    this.recorder = new Recorder(this.block, controller, this.world, this.player);
    this.operator = new Operator(options.operator ?? PLAIN_OPERATOR);
    this.limit_ticks = (plan.duration_s + EXTRA_S_PER_CONTOUR * (plan.contours.length + 1)) * MS_PER_S;
  }

  /** Runs up to one second (`ticks` at most) into `block`, whose rows then stand for these ticks alone. */
  runBlock(ticks: number = BLOCK_TICKS): void {
    const { block } = this;
    block.first_tick = this.tick;
    let row = 0;
    const most = Math.min(ticks, BLOCK_TICKS);
    while (row < most && !this.finished) this.step(row++);
    block.count = row;
  }

  /** How it ended, or how it stands. */
  get outcome(): Outcome {
    const { player } = this;
    const ticks = this.tick;
    const line = player.line;
    if (player.state === FINISHED) return { ended: 'finished', reason: '', line, ticks };
    const reason = STOP_REASON_TEXTS[player.stop_reason];
    if (player.state === STOPPED) return { ended: 'stopped', reason, line, ticks };
    return { ended: 'limit', reason: 'the program did not come to an end in the time it should need', line, ticks };
  }

  private step(row: number): void {
    const { controller, world, player, operator } = this;
    operator.advance(this.tick);
    const request = player.torch_request !== 0 && operator.request_through ? REQUEST_BIT : 0;
    const top = world.top !== 0 || this.tick < HOMED_MS ? TOP_BIT : 0;
    const digital_inputs =
      operator.digital_inputs |
      request |
      top |
      (world.touch !== 0 ? TOUCH_BIT : 0) |
      (world.breakaway !== 0 ? BREAKAWAY_BIT : 0) |
      (world.supply_contact !== 0 ? SUPPLY_CONTACT_BIT : 0) |
      (world.late !== 0 ? OVERRUN_BIT : 0);
    // In the trace the firing contact has a column of its own.
    controller.digital_inputs = world.readback !== 0 ? digital_inputs | RELAY_BIT : digital_inputs;
    controller.reference = world.reference;
    controller.x_steps = player.x_steps * world.x_tap;
    controller.y_steps = player.y_steps * world.y_tap;
    controller.tick();
    const digital_outputs = controller.digital_outputs;
    const z_steps = controller.z_steps;
    this.recorder.row(row, digital_outputs, z_steps);

    if (this.tick >= START_MS) {
      player.advance((digital_outputs & PERMIT) !== 0, (digital_outputs & LATCHED_STOP) !== 0);
    }
    this.path_mm += player.feed_mm_s / MS_PER_S;
    const moving = player.feed_mm_s > 0;
    world.place(
      player.x_mm,
      player.y_mm,
      player.feed_mm_s,
      this.path_mm,
      moving ? player.dx : 0,
      moving ? player.dy : 0,
    );
    world.advance(z_steps, digital_outputs & TRIGGER, (digital_outputs & Z_OWNED) !== 0 ? 1 : 0);
    this.tick++;
    this.watchEnd(digital_outputs);
  }

  private watchEnd(digital_outputs: number): void {
    const mode = this.controller.output.integers[AT_MODE];
    const idle = (mode === REST || mode === FAULT) && (digital_outputs & Z_OWNED) === 0;
    const over = this.player.state >= STOPPED && idle;
    this.after_ms = over ? this.after_ms + 1 : 0;
    if (this.after_ms > AFTER_MS || this.tick >= this.limit_ticks) this.finished = true;
  }
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
