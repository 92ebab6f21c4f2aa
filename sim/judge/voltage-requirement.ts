import { OUTPUT_LATCHED_STOP, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/**
 * Ticks in which the box may make sure that a voltage is there to stay before it opens the latched stop: twice
 * the moving mean over half a period of 45 Hz mains, and a tick.
 */
const CONFIRM_MS = 25;

/**
 * Requirement 4. Judged by the voltage that the box sees: what an open sensing lead hides, no box can act on. The margin
 * is the time that was left of fall_ms (and the time to make sure of it) when the voltage was near zero or the
 * latched stop open.
 */
export class VoltageFalls extends Requirement {
  readonly name = 'voltage-falls';
  readonly number = 4;
  readonly statement =
    'after the trigger went off the arc voltage is near zero within fall_ms and stays there, else the latched stop opens';
  readonly unit = 'ms';
  readonly checked_unit = 'times';
  private readonly rest_V: number;
  private readonly fall_ms: number;
  private off_ms = 0;
  /** Voltage that is there although fall_ms is over, ms on end. */
  private over_ms = 0;
  private trigger_was_on = true;

  constructor(context: RequirementContext) {
    super();
    this.rest_V = context.parameters.rest_V;
    this.fall_ms = context.parameters.fall_ms;
  }

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const on = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0;
      if (on) {
        this.off_ms = 0;
        this.over_ms = 0;
      } else {
        // Power-up counts as a trigger that has just gone off.
        if (this.trigger_was_on) this.checked++;
        this.rows(block, s.from[i], s.from[i + 1], (s.digital_outputs[i] & OUTPUT_LATCHED_STOP) !== 0);
      }
      this.trigger_was_on = on;
    }
  }

  private rows(block: TraceBlock, from: number, end: number, stopped: boolean): void {
    const { rest_V, fall_ms } = this;
    const measured_V = block.measured_V;
    let off_ms = this.off_ms;
    let over_ms = this.over_ms;
    let worst_ms = Number.POSITIVE_INFINITY;
    let worst_row = from;
    for (let row = from; row < end; row++) {
      off_ms++;
      const seen = measured_V[row];
      if (seen < rest_V && seen > -rest_V) {
        over_ms = 0;
        continue;
      }
      if (off_ms > fall_ms) over_ms++;
      const used_ms = off_ms > fall_ms ? fall_ms + over_ms : off_ms;
      const margin_ms = fall_ms + CONFIRM_MS - used_ms;
      if (!stopped && margin_ms < worst_ms) {
        worst_ms = margin_ms;
        worst_row = row;
      }
    }
    if (stopped) over_ms = 0;
    this.off_ms = off_ms;
    this.over_ms = over_ms;
    if (worst_ms < Number.POSITIVE_INFINITY) this.note(worst_ms, block.first_tick + worst_row);
  }
}
