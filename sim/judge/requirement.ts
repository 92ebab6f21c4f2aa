import { StandoffError } from '../base/index.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import type { Stretches } from './stretches.js';

/**
 * What a run says about one requirement.
 *
 * A margin is signed: 0 or more is kept. Where the requirement has a limit the margin is the distance to it. Where
 * the requirement says *never*, there is no distance: the margin is 0 when kept, and minus how much or how often it was
 * broken.
 */
export interface RequirementResult {
  /** Stable name, lower-case words joined by hyphens. */
  readonly name: string;
  /** Number of the requirement in the design, 1…10; 0 for what is not one of them. Requirement 11 needs two runs. */
  readonly number: number;
  /** A broken requirement breaks the run; a missed quality is told and does not. */
  readonly kind: 'requirement' | 'quality';
  /** One sentence: what must hold. */
  readonly statement: string;
  /** True also when the run never put the requirement to the test: see `checked`. */
  readonly kept: boolean;
  /** Smallest margin of the run; null when `checked` is 0. */
  readonly margin: number | null;
  readonly unit: string;
  /** Tick at which the margin was smallest; null when there is no single one. */
  readonly worst_tick: number | null;
  /** How often the condition of the requirement arose, in `checked_unit`; 0: this run says nothing about the requirement. */
  readonly checked: number;
  readonly checked_unit: string;
}

/** Makes requirements of somebody's own for one run: a campaign asks for new ones for every cut. */
export type OwnRequirements = (context: RequirementContext) => readonly Requirement[];

/** One requirement, judged as the run goes by; it carries only a small state from block to block. */
export abstract class Requirement {
  abstract readonly name: string;
  abstract readonly number: number;
  abstract readonly statement: string;
  abstract readonly unit: string;
  abstract readonly checked_unit: string;

  /** Smallest margin so far. */
  margin = Number.POSITIVE_INFINITY;
  worst_tick = -1;
  checked = 0;

  /** Looks at the next block of the run and its stretches. */
  abstract watch(block: TraceBlock, stretches: Stretches): void;

  /** Takes a margin into account. Of equal margins the one with the earliest tick stays. */
  protected note(margin: number, tick: number): void {
    // A margin that is NaN comes from a reading that is not one; it must not pass for kept.
    const value = Number.isNaN(margin) ? Number.NEGATIVE_INFINITY : margin;
    if (value < this.margin || (value === this.margin && tick < this.worst_tick)) {
      this.margin = value;
      this.worst_tick = tick;
    }
  }

  /** For a requirement that says never: adds to what was broken, and remembers where it began. */
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
      kind: 'requirement',
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
