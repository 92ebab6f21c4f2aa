// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { MODE_FAULT, MODE_REST, PARAMETER_TRIM_V } from '../../firmware/wire/codes.gen.js';
import { INPUT_KEY, INPUT_REQUEST, INPUT_RESET, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import { NEXT_MODES } from '../../firmware/wire/mode-order.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/** Requirements 9 and 10, and the contact of tip and sheet. */
export const sequenceRequirements = (context: RequirementContext): Requirement[] => [
  new ModeOrder(context),
  new FaultReset(context),
  new Finite(context),
  new NoContact(context),
];

class ModeOrder extends Requirement {
  readonly name = 'mode-order';
  readonly number = 10;
  readonly statement = 'the modes follow each other as the sequence allows';
  readonly unit = 'times';

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const mode = s.mode[i];
    const before = s.mode[i - 1];
    if (mode === before) return;
    this.checked++;
    if (((NEXT_MODES[before] ?? 0) & (1 << mode)) === 0) this.add(1, block.first_tick + s.from[i]);
  }
}

class FaultReset extends Requirement {
  readonly name = 'fault-reset';
  readonly number = 10;
  readonly statement = 'a fault is left only by a reset with the request off';
  readonly unit = 'times';

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const left =
      (s.fault[i - 1] !== 0 && s.fault[i] === 0) || (s.mode[i - 1] === MODE_FAULT && s.mode[i] !== MODE_FAULT);
    if (!left) return;
    this.checked++;
    if ((s.digital_inputs[i] & (INPUT_RESET | INPUT_REQUEST)) !== INPUT_RESET)
      this.add(1, block.first_tick + s.from[i]);
  }
}

/** Of the real outputs; codes and steps are integers. */
class Finite extends Requirement {
  readonly name = 'finite';
  readonly number = 10;
  readonly statement = 'every output is a finite number';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';

  override watch(block: TraceBlock): void {
    const { measured_V, target_V, measured_error_mm, z_velocity_mm_s, measured_feed_mm_s } = block;
    const { slope_x, slope_y, feed_effect_V, count } = block;
    this.checked += count;
    // x − x is 0 for every finite x; the sum of eight f32 is finite in f64 if and only if all eight are.
    let total = 0;
    for (let row = 0; row < count; row++) {
      const sum =
        measured_V[row] +
        target_V[row] +
        measured_error_mm[row] +
        z_velocity_mm_s[row] +
        measured_feed_mm_s[row] +
        slope_x[row] +
        slope_y[row] +
        feed_effect_V[row];
      total += sum - sum;
      if (total !== 0) {
        this.add(1, block.first_tick + row);
        total = 0;
      }
    }
  }
}

/**
 * A trace does not show that a parameter was changed: whoever changes one during a run says so with `changed`, before
 * the block of that tick is judged. A run without such a call does not test the requirement.
 */
export class ParametersAtRest extends Requirement {
  readonly name = 'parameters-at-rest';
  readonly number = 9;
  readonly statement =
    'a parameter other than trim_V changes only with the key off, in rest, and with the voltage below rest_V';
  readonly unit = 'times';
  private readonly rest_V = this.parameters.rest_V;
  private ticks: number[] = [];

  /** The box has taken a new value for a parameter, after the outputs of `tick`. */
  changed(tick: number, id: number): void {
    if (id !== PARAMETER_TRIM_V) this.ticks.push(tick);
  }

  override watch(block: TraceBlock, s: Stretches): void {
    if (this.ticks.length === 0 || s.count === 0) return;
    const end = block.first_tick + block.count;
    for (const tick of this.ticks) {
      const row = tick - block.first_tick;
      if (row < 0 || tick >= end) continue;
      this.checked++;
      const allowed =
        (block.digital_inputs[row] & INPUT_KEY) === 0 &&
        block.mode[row] === MODE_REST &&
        Math.abs(block.measured_V[row]) < this.rest_V;
      if (!allowed) this.add(1, tick);
    }
    this.ticks = this.ticks.filter((tick) => tick >= end);
  }
}

/** Nearer than this counts as contact, mm: less than a droplet of spatter on the tip (assumption). */
export const CONTACT_MM = 0.05;

/**
 * It has no number, but is the reason for most of the others. The margin is the least standoff while the torch is
 * fired, an arc burns or the table moves, less what counts as contact. Beyond an edge there is no sheet, but there are
 * slats. While the box does not own Z it can prevent nothing: a torch that is parked too low touches a tilted sheet
 * whatever the box does.
 */
class NoContact extends Requirement {
  readonly name = 'no-contact';
  readonly number = 0;
  readonly statement =
    `while the box owns Z, outside the touch-off, the torch never comes nearer to the sheet than ${CONTACT_MM} mm`;
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';
  private contacts = 0;

  override watch(block: TraceBlock): void {
    const { contacts, count, standoff_mm, burning, relay, feed_mm_s, off_sheet, digital_outputs } = block;
    let least_mm = Number.POSITIVE_INFINITY;
    let least_row = 0;
    for (let row = 0; row < count; row++) {
      const met = contacts[row] !== this.contacts;
      this.contacts = contacts[row];
      if ((digital_outputs[row] & OUTPUT_Z_OWNED) === 0) continue;
      const counts = (burning[row] | relay[row]) !== 0 || feed_mm_s[row] > 0;
      if (!met && (!counts || off_sheet[row] !== 0)) continue;
      this.checked++;
      const apart_mm = met ? 0 : standoff_mm[row];
      if (apart_mm < least_mm) {
        least_mm = apart_mm;
        least_row = row;
      }
    }
    if (least_mm < Number.POSITIVE_INFINITY) this.note(least_mm - CONTACT_MM, block.first_tick + least_row);
  }
}
