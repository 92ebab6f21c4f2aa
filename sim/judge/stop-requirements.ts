import { MODE_FAULT, MODE_RETRACT } from '../../firmware/wire/codes.gen.js';
import { INPUT_STOP_CHAIN, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';
import { ROUNDING_STEPS, ZLimits } from './z-tools.js';

/** The tick in which the chain is seen open, and the one in which the last fraction of a step comes out. */
const STOP_TICKS = 2;

/** Requirement 5, second sentence. The margin is the time left of the ramp when the last step came out. */
export class StopChainStopsZ extends Requirement {
  readonly name = 'stop-chain-stops-z';
  readonly number = 5;
  readonly statement = 'when the stop chain opens, Z stops within its ramp and stays where it is';
  readonly unit = 'ms';
  readonly checked_unit = 'times';
  private readonly z: ZLimits;
  private open = false;
  private open_tick = 0;
  private allowed_ms = STOP_TICKS;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if ((s.digital_inputs[i] & INPUT_STOP_CHAIN) !== 0) {
        this.open = false;
        continue;
      }
      const row = s.from[i];
      if (!this.open) {
        this.open = true;
        this.open_tick = block.first_tick + row;
        this.checked++;
        const speed = Math.max(this.z.speedBefore_mm_s(s, row, -1), this.z.speedBefore_mm_s(s, row, 1));
        this.allowed_ms = this.z.rampMs(speed) + STOP_TICKS;
        this.note(this.allowed_ms, this.open_tick);
      }
      this.rows(block, row, s.from[i + 1]);
    }
  }

  private rows(block: TraceBlock, from: number, end: number): void {
    const z_steps = block.z_steps;
    for (let row = end - 1; row >= from; row--) {
      if (z_steps[row] === 0) continue;
      const tick = block.first_tick + row;
      this.note(this.allowed_ms - (tick - this.open_tick), tick);
      return;
    }
  }
}

/**
 * Requirement 5, third sentence. A rise has begun when Z stands higher than the ramp of its speed can have brought it;
 * by then the voltage must have been near zero since the trigger went off.
 */
export class RiseAfterFall extends Requirement {
  readonly name = 'rise-after-fall';
  readonly number = 5;
  readonly statement = 'after a cut Z rises only once the arc voltage has fallen below rest_V';
  readonly unit = 'V';
  readonly checked_unit = 'times';
  private readonly z: ZLimits;
  private readonly rest_V: number;
  /** Lowest size of the voltage since the trigger went off. */
  private lowest_V = Number.POSITIVE_INFINITY;
  private start = 0;
  private ramp = 0;
  private risen = true;

  constructor(context: RequirementContext) {
    super();
    this.z = new ZLimits(context);
    this.rest_V = context.parameters.rest_V;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const mode = s.mode[i];
      const rising_mode = mode === MODE_RETRACT || mode === MODE_FAULT;
      const row = s.from[i];
      if ((s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0) this.lowest_V = Number.POSITIVE_INFINITY;
      if (!rising_mode) this.risen = true;
      else if (mode !== s.mode[i - 1]) {
        this.risen = false;
        // The tick that raises a fault has moved Z already, as the mode before wanted.
        this.start = s.z_at[HISTORY_ROWS + row];
        // What the reversal's play kept back may come out as well.
        this.ramp = this.z.rampSteps(this.z.speedBefore_mm_s(s, row, 1)) + this.z.backlash_steps + ROUNDING_STEPS;
      }
      if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0 || !this.risen) this.rows(block, s, i);
    }
  }

  private rows(block: TraceBlock, s: Stretches, i: number): void {
    if (this.risen && this.lowest_V < this.rest_V) return;
    const { measured_V } = block;
    const end = s.from[i + 1];
    const off = (s.digital_outputs[i] & OUTPUT_TRIGGER) === 0;
    for (let row = s.from[i]; row < end; row++) {
      const size_V = Math.abs(measured_V[row]);
      if (off && size_V < this.lowest_V) this.lowest_V = size_V;
      if (this.risen || s.z_at[HISTORY_ROWS + row] - this.start <= this.ramp) continue;
      this.risen = true;
      this.checked++;
      const lowest_V = this.lowest_V === Number.POSITIVE_INFINITY ? size_V : this.lowest_V;
      this.note(this.rest_V - lowest_V, block.first_tick + row);
    }
  }
}
