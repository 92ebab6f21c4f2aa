// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { MODE_HOLD, MODE_LIFT, MODE_REST, MODE_SEEK, MODE_STRIKE, STAGE_OPEN } from '../../firmware/wire/codes.gen.js';
import {
  INPUT_KEY,
  INPUT_RELAY,
  INPUT_REQUEST,
  INPUT_STOP_CHAIN,
  OUTPUT_LATCHED_STOP,
  OUTPUT_TRIGGER,
} from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/** Requirements 1 to 4: the trigger, and voltage and firing contact after it. */
export const triggerRequirements = (context: RequirementContext): Requirement[] => [
  new TriggerPermission(context),
  new TriggerWithdrawal(context),
  new TriggerPath(context),
  new VoltageFalls(context),
  new ContactOpens(context),
];

const PERMISSION = INPUT_KEY | INPUT_REQUEST | INPUT_STOP_CHAIN;

/** True if stretch i has everything that the trigger needs. */
function permitted(s: Stretches, i: number): boolean {
  return (
    (s.digital_inputs[i] & PERMISSION) === PERMISSION &&
    s.fault[i] === 0 &&
    s.mode[i] >= MODE_STRIKE &&
    s.mode[i] <= MODE_HOLD
  );
}

class TriggerPermission extends Requirement {
  readonly name = 'trigger-permission';
  readonly number = 1;
  readonly statement =
    'the trigger is on only with key and request on, the stop chain intact, no fault, and in a mode from strike to hold';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0) return;
    const length_ms = s.from[i + 1] - s.from[i];
    this.checked += length_ms;
    if (!permitted(s, i)) this.add(length_ms, block.first_tick + s.from[i]);
  }
}

/** Counted once for each time that something was lost while the trigger was on. */
class TriggerWithdrawal extends Requirement {
  readonly name = 'trigger-withdrawal';
  readonly number = 2;
  readonly statement =
    'the trigger goes off in the tick in which key, request or stop chain is lost or a fault is raised';
  readonly unit = 'ms';
  private late = false;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const on = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0;
    const was_on = (s.digital_outputs[i - 1] & OUTPUT_TRIGGER) !== 0;
    const input_lost = (s.digital_inputs[i - 1] & ~s.digital_inputs[i] & PERMISSION) !== 0;
    const fault_arose = s.fault[i] !== 0 && s.fault[i - 1] === 0;
    if (was_on && (input_lost || fault_arose)) {
      this.checked++;
      this.late = on;
    }
    if (!on) this.late = false;
    if (this.late) this.add(s.from[i + 1] - s.from[i], block.first_tick + s.from[i]);
  }
}

/** Key and request must be off for this long without a break to count as withdrawn; less is a bouncing contact. */
const WITHDRAWN_MS = 30;

/**
 * The margin is how much longer than needed the key, or the request, was off before the trigger went on. Without a
 * completed touch-off, or with a key or a request from before a fault, the whole time is missing.
 */
class TriggerPath extends Requirement {
  readonly name = 'trigger-path';
  readonly number = 3;
  readonly statement =
    'the trigger goes on only after a completed touch-off, with a key and a request that were off for 30 ms since power-up or the last fault';
  readonly unit = 'ms';
  private readonly key = new OffTime();
  private readonly request = new OffTime();
  /** How long the request that started the touch-off had been off. */
  private request_ms = 0;
  private touched_off = false;
  private trigger_was_on = false;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    this.follow(s, i);
    const on = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0;
    if (on && !this.trigger_was_on) {
      this.checked++;
      const off_ms = this.touched_off ? Math.min(this.key.off_before_ms, this.request_ms) : 0;
      this.note(off_ms - WITHDRAWN_MS, block.first_tick + s.from[i]);
    }
    this.trigger_was_on = on;
  }

  private follow(s: Stretches, i: number): void {
    const rose = s.digital_inputs[i] & ~s.digital_inputs[i - 1];
    if ((rose & INPUT_KEY) !== 0) this.key.rise();
    // A request that drops out for a moment is the same request.
    if ((rose & INPUT_REQUEST) !== 0 && this.request.off_ms >= this.request.off_before_ms) this.request.rise();
    const mode = s.mode[i];
    const before = s.mode[i - 1];
    if (mode === MODE_SEEK && before !== MODE_SEEK) {
      // One request, one arc: the touch-off uses up the request that starts it.
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

/** How long an input has been off, and how long it was off before it last came on. */
class OffTime {
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

/**
 * Ticks that the box may take to confirm that a voltage stays, before it sets the latched stop: twice the moving mean
 * over half a period of 45 Hz mains, and a tick.
 */
const CONFIRM_MS = 25;

/**
 * Judged by the voltage that the box measures: no box can act on what an open sensing lead hides. The margin is the
 * time left of fall_ms and of the time to confirm, when the voltage was near zero or the latched stop set.
 */
class VoltageFalls extends Requirement {
  readonly name = 'voltage-falls';
  readonly number = 4;
  readonly statement =
    'after trigger off the arc voltage falls below rest_V within fall_ms and stays there, or the latched stop is set';
  readonly unit = 'ms';
  private readonly rest_V = this.parameters.rest_V;
  private readonly fall_ms = this.parameters.fall_ms;
  private off_ms = 0;
  /** For how long there has been voltage after fall_ms, ms. */
  private over_ms = 0;
  private trigger_was_on = true;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const on = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0;
    if (on) {
      this.off_ms = 0;
      this.over_ms = 0;
    } else {
      // Power-up counts as trigger off.
      if (this.trigger_was_on) this.checked++;
      this.rows(block, s.from[i], s.from[i + 1], (s.digital_outputs[i] & OUTPUT_LATCHED_STOP) !== 0);
    }
    this.trigger_was_on = on;
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
      const size_V = Math.abs(measured_V[row]);
      if (size_V < rest_V) {
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

/** Longer than any relay of that size takes: the largest `firing.relay_release_ms` is half of it. */
const CONTACT_OPENS_MS = 200;
/** The module's count begins a tick after the trigger went off; readings of an emulated box are a tick old. */
const CONTACT_TICKS = 2;

/**
 * Judged by the readback, which stands among the recorded digital inputs: no box can act on a contact whose readback is
 * silent. The margin is the time that was left when the contact opened or the latched stop was set.
 */
class ContactOpens extends Requirement {
  readonly name = 'contact-opens';
  readonly number = 4;
  readonly statement =
    'after trigger off the firing contact reads open within 200 ms and stays open, or the latched stop is set';
  readonly unit = 'ms';
  private closed_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const against = (s.digital_inputs[i] & INPUT_RELAY) !== 0 && (s.digital_outputs[i] & OUTPUT_TRIGGER) === 0;
    if (!against || (s.digital_outputs[i] & OUTPUT_LATCHED_STOP) !== 0) {
      this.closed_ms = 0;
      return;
    }
    if (this.closed_ms === 0) this.checked++;
    this.closed_ms += s.from[i + 1] - s.from[i];
    this.note(CONTACT_OPENS_MS + CONTACT_TICKS - this.closed_ms, block.first_tick + s.from[i + 1] - 1);
  }
}
