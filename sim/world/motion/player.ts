import { StandoffError, TICKS_PER_S } from '../../base/index.js';
import { STEP_ROWS, WorldInstance } from '../cells/index.js';
import * as codes from '../module/codes.js';
import type { Plan } from './plan.js';

/** What the table is doing; `stopped` and `finished` are final and come last. */
export const MotionState = {
  running: codes.RUNNING,
  dwelling: codes.DWELLING,
  waitingForPermit: codes.WAITING_FOR_PERMIT,
  braking: codes.BRAKING,
  stopped: codes.STOPPED,
  finished: codes.FINISHED,
} as const;
export type MotionState = (typeof MotionState)[keyof typeof MotionState];

/** Why a program stopped before its end. */
export const StopReason = {
  none: 0,
  permitNotGiven: codes.PERMIT_NOT_GIVEN,
  permitWithdrawn: codes.PERMIT_WITHDRAWN,
  latchedStop: codes.LATCHED_STOP,
} as const;
export type StopReason = (typeof StopReason)[keyof typeof StopReason];

/** The reason in words, indexed by `StopReason`. */
export const STOP_REASON_TEXTS: readonly string[] = [
  '',
  'no motion permit in time',
  'permit withdrawn',
  'latched stop of the box',
];

export interface PlayerOptions {
  /** Steps of either axis for a millimetre. */
  readonly steps_per_mm: number;
  /** Many table controllers look at the permit only before the first motion of a contour, and not after it. */
  readonly permit_use?: 'watched' | 'start-only';
  /** How long the program waits for the permit before it stops, s; 0 or more, default 15. */
  readonly permit_wait_s?: number;
}

/**
 * The table at work, in the world module: each `advance` is one tick, after which the cells tell where the torch is; see
 * sim/world/module/table.ts.
 */
export class MotionPlayer {
  /** Of the table, and of the move under way; see sim/world/cells. */
  readonly table: WorldInstance['cells']['table'];
  readonly move: WorldInstance['cells']['move'];

  /**
   * @param instance takes the plan into its memory; without it, one of the player's own
   * @throws StandoffError motion-option for an option out of range.
   */
  constructor(
    private readonly plan: Plan,
    options: PlayerOptions,
    private readonly instance: WorldInstance = new WorldInstance(),
  ) {
    const wait_s = options.permit_wait_s ?? 15;
    if (!(options.steps_per_mm > 0 && options.steps_per_mm <= 100_000)) {
      const what = `steps_per_mm is ${options.steps_per_mm}`;
      throw new StandoffError('motion-option', what, 'give a number above 0, at most 100000');
    }
    if (!(wait_s >= 0))
      throw new StandoffError('motion-option', `permit_wait_s is ${wait_s}`, 'give 0 or more seconds');
    this.table = instance.cells.table;
    this.move = instance.cells.move;
    const { corners, limits, steps } = plan;
    const { steps_per_mm } = options;
    const x_mm = steps.start_x_mm[0];
    const y_mm = steps.start_y_mm[0];
    instance.give('table', {
      x_mm,
      y_mm,
      // As the module counts: the place itself is no step.
      x_count: Math.floor(x_mm * steps_per_mm + 0.5),
      y_count: Math.floor(y_mm * steps_per_mm + 0.5),
      dx: 1,
      corner_mm: Number.POSITIVE_INFINITY,
      next_corner_mm: Number.POSITIVE_INFINITY,
      last_corner_mm: Number.NEGATIVE_INFINITY,
      steps_per_mm,
      acceleration_mm_s2: limits.acceleration_mm_s2,
      braking_mm_s2: limits.braking_mm_s2,
      longest_wait_ticks: wait_s * TICKS_PER_S,
      contour: -1,
      watched: options.permit_use !== 'start-only' ? 1 : 0,
      corners: corners.path_mm.length,
      corner_path_at: this.takeReals(corners.path_mm),
      corner_contour_at: this.takeIntegers(corners.contour),
      steps_at: this.takeSteps(),
    });
    instance.give('move', { x_mm, y_mm, dx: 1 });
    instance.module.begin_table();
  }

  /**
   * One tick of 1 ms.
   * @param motion_permit the box allows motion
   * @param latched_stop  the box has stopped for good: brake at once, and withdraw the torch request
   */
  advance(motion_permit: boolean, latched_stop = false): void {
    this.instance.module.advance_table(motion_permit ? 1 : 0, latched_stop ? 1 : 0);
  }

  /** Planned time to the end of the program, without waits; after a stop it keeps its value. */
  get remaining_s(): number {
    const { table, move } = this;
    const at_s = table.stop_reason === StopReason.none ? move.start_s + table.step_s : table.stopped_at_s;
    return this.plan.duration_s - at_s;
  }

  /** Share of the planned time that has passed, 0…1. */
  get progress(): number {
    const { duration_s } = this.plan;
    return duration_s > 0 ? 1 - this.remaining_s / duration_s : 1;
  }

  private takeReals(values: Float64Array): number {
    const at = this.instance.take(values.byteLength);
    this.instance.reals.set(values, at / 8);
    return at;
  }

  private takeIntegers(values: Int32Array): number {
    const at = this.instance.take(values.byteLength);
    this.instance.integers.set(values, at / 4);
    return at;
  }

  /** The steps of the plan, row by row. */
  private takeSteps(): number {
    const { steps } = this.plan;
    const { reals, integers } = STEP_ROWS;
    const bytes = reals.length * 8 + integers.length * 4;
    const at = this.instance.take(steps.count * bytes);
    for (const [place, name] of reals.entries()) {
      const column = steps[name];
      for (let n = 0; n < steps.count; n++) this.instance.reals[(at + n * bytes) / 8 + place] = column[n];
    }
    for (const [place, name] of integers.entries()) {
      const column = steps[name];
      const from = at + reals.length * 8;
      for (let n = 0; n < steps.count; n++) this.instance.integers[(from + n * bytes) / 4 + place] = column[n];
    }
    return at;
  }
}
