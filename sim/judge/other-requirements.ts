import { MODE_REST, PARAMETER_TRIM_V } from '../../firmware/wire/codes.gen.js';
import { INPUT_KEY, OUTPUT_Z_OWNED } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/**
 * Requirement 9. A trace does not show that a parameter was changed; whoever changes one during a run says so with
 * `changed`, before the block of that tick is judged. A run without such a call does not test the requirement.
 */
export class ParametersAtRest extends Requirement {
  readonly name = 'parameters-at-rest';
  readonly number = 9;
  readonly statement =
    'a parameter other than trim_V is taken only with the key off, at rest and with the voltage near zero';
  readonly unit = 'times';
  readonly checked_unit = 'times';
  private readonly rest_V: number;
  private ticks: number[] = [];

  constructor(context: RequirementContext) {
    super();
    this.rest_V = context.parameters.rest_V;
  }

  /** The box has taken a new value for a parameter, after the outputs of `tick`. */
  changed(tick: number, id: number): void {
    if (id !== PARAMETER_TRIM_V) this.ticks.push(tick);
  }

  watch(block: TraceBlock, s: Stretches): void {
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

/** Nearer than this the tip counts as met: less than a droplet of spatter on it, mm (assumption). */
const NEAREST_MM = 0.05;

/**
 * Not one of the eleven, but the reason for most of them. The margin is the least standoff while the torch is fired, an arc
 * burns or the table moves, less what counts as contact. Beyond an edge there is no sheet to meet, but there are slats. While
 * the box does not hold Z it can keep nothing apart: a torch that is parked too low meets a tilted sheet whatever it does.
 */
export class NoContact extends Requirement {
  readonly name = 'no-contact';
  readonly number = 0;
  readonly statement =
    `while the box holds Z, outside the touch-off, the torch never comes nearer to the sheet than ${NEAREST_MM} mm`;
  readonly unit = 'mm';
  readonly checked_unit = 'ms';
  private contacts = 0;

  watch(block: TraceBlock): void {
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
    if (least_mm < Number.POSITIVE_INFINITY) this.note(least_mm - NEAREST_MM, block.first_tick + least_row);
  }
}
