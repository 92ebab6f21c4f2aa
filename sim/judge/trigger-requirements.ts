import { MODE_HOLD, MODE_LIFT, MODE_REST, MODE_SEEK, MODE_STRIKE, STAGE_OPEN } from '../../firmware/wire/codes.gen.js';
import { INPUT_KEY, INPUT_REQUEST, INPUT_STOP_CHAIN, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

const PERMISSION = INPUT_KEY | INPUT_REQUEST | INPUT_STOP_CHAIN;

/** True if everything that the trigger needs is there in stretch i. */
function permitted(s: Stretches, i: number): boolean {
  return (
    (s.digital_inputs[i] & PERMISSION) === PERMISSION &&
    s.fault[i] === 0 &&
    s.mode[i] >= MODE_STRIKE &&
    s.mode[i] <= MODE_HOLD
  );
}

/** Requirement 1. */
export class TriggerPermission extends Requirement {
  readonly name = 'trigger-permission';
  readonly number = 1;
  readonly statement =
    'while the trigger is on, key and request are on, the stop chain is closed, there is no fault and the mode is one from strike to hold';
  readonly unit = 'ms';
  readonly checked_unit = 'ms';

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0) continue;
      const length_ms = s.from[i + 1] - s.from[i];
      this.checked += length_ms;
      if (!permitted(s, i)) this.add(length_ms, block.first_tick + s.from[i]);
    }
  }
}

/** Requirement 2: one count for each time that something was lost under a trigger that was on. */
export class TriggerWithdrawal extends Requirement {
  readonly name = 'trigger-withdrawal';
  readonly number = 2;
  readonly statement =
    'when key, request or stop chain is lost or a fault arises, the trigger goes off in that very tick';
  readonly unit = 'ms';
  readonly checked_unit = 'times';
  private late = false;

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      const on = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0;
      const was_on = (s.digital_outputs[i - 1] & OUTPUT_TRIGGER) !== 0;
      const line_lost = (s.digital_inputs[i - 1] & ~s.digital_inputs[i] & PERMISSION) !== 0;
      const fault_arose = s.fault[i] !== 0 && s.fault[i - 1] === 0;
      if (was_on && (line_lost || fault_arose)) {
        this.checked++;
        this.late = on;
      }
      if (!on) this.late = false;
      if (this.late) this.add(s.from[i + 1] - s.from[i], block.first_tick + s.from[i]);
    }
  }
}

/** Key and request must be off for so long without a break to count as taken back; less is a contact that opened. */
const TAKEN_BACK_MS = 30;

/**
 * Requirement 3. The margin is how much longer than it had to be the key, or the request, was off before the trigger went on;
 * without a completed touch-off, or with a key or a request from before a fault, it is all that was asked for.
 */
export class TriggerPath extends Requirement {
  readonly name = 'trigger-path';
  readonly number = 3;
  readonly statement =
    'the trigger goes on only after the key was off for 30 ms and on since power-up or the last fault, a request that was off for 30 ms, and a completed touch-off';
  readonly unit = 'ms';
  readonly checked_unit = 'times';
  private readonly key = new Taken();
  private readonly request = new Taken();
  /** How long the request that started the touch-off had been off. */
  private request_ms = 0;
  private touched_off = false;
  private trigger_was_on = false;

  watch(block: TraceBlock, s: Stretches): void {
    for (let i = 1; i <= s.count; i++) {
      this.follow(s, i);
      const on = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0;
      if (on && !this.trigger_was_on) {
        this.checked++;
        const off_ms = this.touched_off ? Math.min(this.key.off_before_ms, this.request_ms) : 0;
        this.note(off_ms - TAKEN_BACK_MS, block.first_tick + s.from[i]);
      }
      this.trigger_was_on = on;
    }
  }

  private follow(s: Stretches, i: number): void {
    const rose = s.digital_inputs[i] & ~s.digital_inputs[i - 1];
    if ((rose & INPUT_KEY) !== 0) this.key.rise();
    // A request that dropped out for a moment is the same request.
    if ((rose & INPUT_REQUEST) !== 0 && this.request.off_ms >= this.request.off_before_ms) this.request.rise();
    const mode = s.mode[i];
    const before = s.mode[i - 1];
    if (mode === MODE_SEEK && before !== MODE_SEEK) {
      // One request, one arc: the request that starts the touch-off is used up by it.
      this.request_ms = this.request.off_before_ms;
      this.request.off_before_ms = 0;
      this.touched_off = false;
    }
    if (mode === MODE_LIFT && before === MODE_SEEK) this.touched_off = s.stage[i - 1] === STAGE_OPEN;
    if (mode === MODE_REST) this.touched_off = false;
    if (s.fault[i] !== 0 && s.fault[i] !== s.fault[i - 1]) {
      this.key.forget();
      this.request.off_before_ms = 0;
      this.request_ms = 0;
      this.touched_off = false;
    }
    const length_ms = s.from[i + 1] - s.from[i];
    this.key.pass((s.digital_inputs[i] & INPUT_KEY) !== 0, length_ms);
    this.request.pass((s.digital_inputs[i] & INPUT_REQUEST) !== 0, length_ms);
  }
}

/** How long a line is off, and how long it was before it last came on. */
class Taken {
  off_ms = 0;
  off_before_ms = 0;

  rise(): void {
    this.off_before_ms = this.off_ms;
  }

  pass(on: boolean, length_ms: number): void {
    this.off_ms = on ? 0 : this.off_ms + length_ms;
  }

  forget(): void {
    this.off_ms = 0;
    this.off_before_ms = 0;
  }
}
