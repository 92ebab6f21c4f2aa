import { StandoffError, TICKS_PER_S } from '../../base/index.js';
import type { Corners, Plan } from './plan.js';
import { BlockKind } from './program.js';
import { CurrentStep, isMove } from './steps.js';

/** What the table is doing; `stopped` and `finished` are final and come last. */
export const MotionState = {
  running: 0,
  dwelling: 1,
  waitingForPermit: 2,
  braking: 3,
  stopped: 4,
  finished: 5,
} as const;
export type MotionState = (typeof MotionState)[keyof typeof MotionState];

/** Why a program stopped before its end. */
export const StopReason = { none: 0, permitNotGiven: 1, permitWithdrawn: 2, latchedStop: 3 } as const;
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
 * The table at work: each `advance` is one tick, after which the fields tell where the torch is. Nothing is
 * allocated.
 *
 * A torch word takes the rest of its tick, so that the box sees every change of the request. After M3 the first
 * motion waits for the permit. When the permit is withdrawn later, the table brakes along the path, withdraws the
 * request at rest, and the program is over: a lost arc is never struck again within a contour.
 */
export class MotionPlayer {
  x_mm = 0;
  y_mm = 0;
  /** Speed along the path at the end of the tick, and its direction (the last one while at rest). */
  feed_mm_s = 0;
  dx = 1;
  dy = 0;
  /** Feed word, or rapid speed, of the move under way. */
  programmed_mm_s = 0;
  torch_request: 0 | 1 = 0;
  /** Counts the times that the torch was requested, from 0; −1 before the first. */
  contour = -1;
  /** Line of the program. */
  line = 0;
  /** Path travelled with the torch requested. */
  path_mm = 0;
  /** Path since or to the nearest corner of this contour; Infinity when there is none or the torch is off. */
  corner_distance_mm = Number.POSITIVE_INFINITY;
  state: MotionState = MotionState.running;
  stop_reason: StopReason = StopReason.none;
  /** Steps of this tick; their sum is the position, rounded. */
  x_steps = 0;
  y_steps = 0;

  private readonly corners: Corners;
  private readonly duration_s: number;
  private readonly braking_mm_s2: number;
  private readonly steps_per_mm: number;
  private readonly watched: boolean;
  private readonly longest_wait_ticks: number;

  private readonly step: CurrentStep;
  private step_s = 0;
  private stop_remaining_s: number | undefined;
  private awaiting_permit = false;
  private permit_given = false;
  private waited_ticks = 0;
  private x_count = 0;
  private y_count = 0;
  private next_corner = 0;
  private next_corner_mm = Number.POSITIVE_INFINITY;
  private last_corner_mm = Number.NEGATIVE_INFINITY;

  /** @throws StandoffError motion-option for an option out of range. */
  constructor(plan: Plan, options: PlayerOptions) {
    const wait_s = options.permit_wait_s ?? 15;
    if (!(options.steps_per_mm > 0 && options.steps_per_mm <= 100_000)) {
      const what = `steps_per_mm is ${options.steps_per_mm}`;
      throw new StandoffError('motion-option', what, 'give a number above 0, at most 100000');
    }
    if (!(wait_s >= 0))
      throw new StandoffError('motion-option', `permit_wait_s is ${wait_s}`, 'give 0 or more seconds');
    this.corners = plan.corners;
    this.duration_s = plan.duration_s;
    this.braking_mm_s2 = plan.limits.braking_mm_s2;
    this.step = new CurrentStep(plan.steps, plan.limits.acceleration_mm_s2, plan.limits.braking_mm_s2);
    this.steps_per_mm = options.steps_per_mm;
    this.watched = options.permit_use !== 'start-only';
    this.longest_wait_ticks = wait_s * TICKS_PER_S;
    this.enter(0);
  }

  /**
   * One tick of 1 ms.
   * @param motion_permit the box allows motion
   * @param latched_stop  the box has stopped for good: brake at once, and withdraw the torch request
   */
  advance(motion_permit: boolean, latched_stop = false): void {
    this.x_steps = 0;
    this.y_steps = 0;
    if (this.state >= MotionState.stopped) return;
    if (latched_stop) {
      this.torch_request = 0;
      this.corner_distance_mm = Number.POSITIVE_INFINITY;
      this.beginStop(StopReason.latchedStop);
    } else if (this.permit_given && !motion_permit && this.watched) this.beginStop(StopReason.permitWithdrawn);
    if (this.state === MotionState.braking) this.brake();
    else if (this.state < MotionState.braking) this.run(motion_permit);
  }

  /** Planned time to the end of the program, without waits; after a stop it keeps its value. */
  get remaining_s(): number {
    return this.stop_remaining_s ?? this.duration_s - this.step.start_s - this.step_s;
  }

  /** Share of the planned time that has passed, 0…1. */
  get progress(): number {
    return this.duration_s > 0 ? 1 - this.remaining_s / this.duration_s : 1;
  }

  private beginStop(reason: StopReason): void {
    if (this.state === MotionState.braking) return;
    this.stop_reason = reason;
    this.stop_remaining_s = this.remaining_s;
    if (this.feed_mm_s > 0) this.state = MotionState.braking;
    else this.halt();
  }

  private halt(): void {
    this.feed_mm_s = 0;
    this.torch_request = 0;
    this.corner_distance_mm = Number.POSITIVE_INFINITY;
    this.state = MotionState.stopped;
  }

  private run(motion_permit: boolean): void {
    const step = this.step;
    let left_s = TICK_S;
    for (;;) {
      const moves = isMove(step.kind);
      if (!moves && step.kind !== BlockKind.dwell) {
        this.torchWord();
        break;
      }
      if (moves && this.awaiting_permit && !this.takePermit(motion_permit)) return;
      this.state = moves ? MotionState.running : MotionState.dwelling;
      const time_s = this.step_s + left_s;
      if (time_s < step.duration_s) {
        this.step_s = time_s;
        if (moves) {
          step.follow(time_s);
          this.feed_mm_s = step.speed_mm_s;
          this.takePlace();
        }
        break;
      }
      left_s = time_s - step.duration_s;
      if (moves) {
        this.feed_mm_s = step.exit_mm_s;
        step.place(step.length_mm);
        this.takePlace();
      }
      this.enter(step.index + 1);
    }
    this.measureCorner();
  }

  /** @returns whether the first motion of the contour may start. */
  private takePermit(motion_permit: boolean): boolean {
    if (motion_permit) {
      this.awaiting_permit = false;
      this.permit_given = true;
      return true;
    }
    if (this.state !== MotionState.waitingForPermit) {
      this.state = MotionState.waitingForPermit;
      this.measureCorner();
    }
    if (++this.waited_ticks >= this.longest_wait_ticks) {
      this.stop_reason = StopReason.permitNotGiven;
      this.halt();
    }
    return false;
  }

  private torchWord(): void {
    const on = this.step.kind === BlockKind.torchOn;
    this.torch_request = on ? 1 : 0;
    this.awaiting_permit = on;
    this.permit_given = false;
    this.waited_ticks = 0;
    this.state = MotionState.running;
    if (on) {
      this.contour++;
      this.last_corner_mm = Number.NEGATIVE_INFINITY;
      this.expectCorner();
    }
    if (this.step.kind === BlockKind.end) this.state = MotionState.finished;
    else this.enter(this.step.index + 1);
  }

  /** Brakes along the planned path; the plan brakes no harder, so a chain of moves never ends too soon. */
  private brake(): void {
    const step = this.step;
    const before_mm_s = this.feed_mm_s;
    const after_mm_s = Math.max(0, before_mm_s - this.braking_mm_s2 * TICK_S);
    const braked_s = after_mm_s > 0 ? TICK_S : before_mm_s / this.braking_mm_s2;
    let travelled_mm = step.travelled_mm + ((before_mm_s + after_mm_s) / 2) * braked_s;
    this.feed_mm_s = after_mm_s;
    while (travelled_mm >= step.length_mm) {
      if (step.exit_mm_s === 0) {
        travelled_mm = step.length_mm;
        this.feed_mm_s = 0;
        break;
      }
      travelled_mm -= step.length_mm;
      this.enter(step.index + 1);
    }
    step.place(travelled_mm);
    this.takePlace();
    if (this.feed_mm_s === 0) this.halt();
    else this.measureCorner();
  }

  private enter(index: number): void {
    this.step.enter(index);
    this.step_s = 0;
    this.line = this.step.line;
    this.programmed_mm_s = this.step.programmed_mm_s;
    this.step.travelled_mm = 0;
  }

  private takePlace(): void {
    const step = this.step;
    this.x_mm = step.x_mm;
    this.y_mm = step.y_mm;
    this.dx = step.dx;
    this.dy = step.dy;
    // Here and not once a tick: the table stands still in most ticks. The steps of several places of one tick add up.
    const x_count = Math.floor(step.x_mm * this.steps_per_mm + 0.5);
    const y_count = Math.floor(step.y_mm * this.steps_per_mm + 0.5);
    this.x_steps += x_count - this.x_count;
    this.y_steps += y_count - this.y_count;
    this.x_count = x_count;
    this.y_count = y_count;
    if (this.torch_request === 0) return;
    this.path_mm = step.start_path_mm + step.travelled_mm;
    while (this.path_mm >= this.next_corner_mm) {
      this.last_corner_mm = this.next_corner_mm;
      this.next_corner++;
      this.expectCorner();
    }
  }

  private expectCorner(): void {
    const { contour, path_mm } = this.corners;
    const more = this.next_corner < path_mm.length && contour[this.next_corner] === this.contour;
    this.next_corner_mm = more ? path_mm[this.next_corner] : Number.POSITIVE_INFINITY;
  }

  private measureCorner(): void {
    this.corner_distance_mm =
      this.torch_request === 1
        ? Math.min(this.path_mm - this.last_corner_mm, this.next_corner_mm - this.path_mm)
        : Number.POSITIVE_INFINITY;
  }
}

const TICK_S = 1 / TICKS_PER_S;
