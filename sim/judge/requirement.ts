import { StandoffError } from '../base/index.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';

/** Rows over which the speed of Z is measured: in a single tick whole steps say nothing. */
const SPEED_ROWS = 4;

/** Whole steps lag by less than one, at each end of a distance. */
export const ROUNDING_STEPS = 2;

/** Limits of Z from the parameters, in steps and ticks. */
class ZLimits {
  readonly steps_per_mm: number;
  readonly velocity_mm_s: number;
  readonly acceleration_mm_s2: number;
  /** Steps that the backlash of a reversal may hold back. */
  readonly backlash_steps: number;

  constructor(context: RequirementContext) {
    const p = context.parameters;
    this.steps_per_mm = p.z_steps_per_mm;
    this.velocity_mm_s = p.z_velocity_mm_s;
    this.acceleration_mm_s2 = p.z_acceleration_mm_s2;
    this.backlash_steps = (p.reversal_um / 1000) * p.z_steps_per_mm;
  }

  /**
   * Speed just before a row, mm/s, from the steps of the last four rows; never less than the true one: a step and half
   * of what it may have gained in that time are added. A reversal or a return to regulation drops steps not yet put
   * out, which makes the mean too small; the fastest row and a step is the second measure.
   * @param sign 1: upward; -1: downward
   * @returns 0 if Z moved the other way
   */
  speedBefore_mm_s(s: Stretches, row: number, sign: 1 | -1): number {
    const at = HISTORY_ROWS + row - 1;
    const steps = sign * (s.z_at[at] - s.z_at[at - SPEED_ROWS]);
    if (steps <= 0) return 0;
    const gained_mm_s = (this.acceleration_mm_s2 * SPEED_ROWS) / 2000;
    const mean_mm_s = ((steps + 1) * 1000) / (SPEED_ROWS * this.steps_per_mm) + gained_mm_s;
    let fastest = 0;
    for (let back = 0; back < SPEED_ROWS; back++) {
      fastest = Math.max(fastest, sign * (s.z_at[at - back] - s.z_at[at - back - 1]));
    }
    return Math.max(mean_mm_s, ((fastest + 1) * 1000) / this.steps_per_mm);
  }

  /** Distance of the ramp from a speed to rest, steps. */
  rampSteps(speed_mm_s: number): number {
    return ((speed_mm_s * speed_mm_s) / (2 * this.acceleration_mm_s2)) * this.steps_per_mm;
  }

  /** Time of that ramp, ms. */
  rampMs(speed_mm_s: number): number {
    return (speed_mm_s / this.acceleration_mm_s2) * 1000;
  }
}

/**
 * What a run says about one requirement, or one quality goal.
 *
 * The margin is signed: kept at 0 or above. Where there is a limit, the margin is the distance to it. Where the
 * requirement says *never*, the margin is 0 when it was kept, else minus how much or how often it was broken.
 */
export interface RequirementResult {
  /** Stable name, lower-case words joined by hyphens. */
  readonly name: string;
  /** Number in the table of DEVELOPERS.md, 1…14; 0: it has none. Requirement 11 needs two runs: `compareTraces`. */
  readonly number: number;
  /** A broken requirement breaks the run; a missed quality goal is only reported. */
  readonly kind: 'requirement' | 'goal';
  /** One sentence: what must hold. */
  readonly statement: string;
  /** Also true when the run never tested the requirement: see `checked`. */
  readonly kept: boolean;
  /** Smallest margin of the run, in `unit`; null when `checked` is 0. */
  readonly margin: number | null;
  readonly unit: string;
  /** Tick at which the margin was smallest; null when there is no single one. */
  readonly worst_tick: number | null;
  /** How often, or how long, its condition arose, in `checked_unit`; 0: this run says nothing about it. */
  readonly checked: number;
  readonly checked_unit: 'ms' | 'times';
}

/** Makes requirements of somebody's own for one run: a campaign asks for new ones for every cut. */
export type OwnRequirements = (context: RequirementContext) => readonly Requirement[];

/** One requirement, judged block by block as the run goes by; only a small state is carried from block to block. */
export abstract class Requirement {
  abstract readonly name: string;
  abstract readonly number: number;
  abstract readonly statement: string;
  abstract readonly unit: string;
  /** A goal is reported and never breaks the run: what the box is to learn, and does not do yet. */
  readonly kind: RequirementResult['kind'] = 'requirement';
  readonly checked_unit: 'ms' | 'times' = 'times';

  /** Smallest margin so far. */
  margin = Number.POSITIVE_INFINITY;
  worst_tick = -1;
  checked = 0;
  /** Those of the box, by name. */
  protected readonly parameters: RequirementContext['parameters'];

  constructor(protected readonly context: RequirementContext) {
    this.parameters = context.parameters;
  }

  /** Judges the next block of the run, with its stretches. */
  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) this.stretch(block, s, i);
  }

  /** Judges stretch `i` of a block; of no use to a requirement that watches blocks as a whole. */
  protected stretch(_block: TraceBlock, _s: Stretches, _i: number): void {}

  /** Takes a margin into account. Of equal margins the earliest tick stays. */
  protected note(margin: number, tick: number): void {
    // NaN comes from a reading that is no number; it must not pass for kept.
    const value = Number.isNaN(margin) ? Number.NEGATIVE_INFINITY : margin;
    if (value < this.margin || (value === this.margin && tick < this.worst_tick)) {
      this.margin = value;
      this.worst_tick = tick;
    }
  }

  /** For a requirement that says never: adds to how much was broken, and remembers where that began. */
  protected add(broken: number, tick: number): void {
    if (this.margin >= 0) {
      this.margin = 0;
      this.worst_tick = tick;
    }
    this.margin -= broken;
  }

  result(): RequirementResult {
    const judged = this.checked > 0 || this.margin < 0;
    const never = this.margin === Number.POSITIVE_INFINITY;
    return {
      name: this.name,
      number: this.number,
      kind: this.kind,
      statement: this.statement,
      kept: !(this.margin < 0),
      margin: judged ? (never ? 0 : this.margin) : null,
      unit: this.unit,
      worst_tick: judged && this.worst_tick >= 0 ? this.worst_tick : null,
      checked: this.checked,
      checked_unit: this.checked_unit,
    };
  }
}

/** A requirement about Z. */
export abstract class ZRequirement extends Requirement {
  protected readonly z = new ZLimits(this.context);
}

/**
 * Requirements of somebody's own among those of the design.
 * @throws StandoffError `requirement-form` for what is no requirement, `requirement-name` for a name that is taken
 */
export function refuseOthers(requirements: readonly Requirement[]): void {
  const names = new Set<string>();
  for (const one of requirements) {
    if (typeof one?.watch !== 'function' || typeof one.result !== 'function' || !/^[a-z][a-z0-9-]*$/.test(one.name)) {
      const remedy = 'extend Requirement, and name it in lower-case words joined by hyphens';
      throw new StandoffError('requirement-form', `${String(one?.name ?? one)} is no requirement`, remedy);
    }
    if (names.has(one.name)) {
      throw new StandoffError('requirement-name', `two requirements are called ${one.name}`, 'give yours another name');
    }
    names.add(one.name);
  }
}
