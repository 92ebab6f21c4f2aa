// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { INPUT_TOUCH, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/** Requirement 14: where the torch truly is. */
export const torchTruthRequirements = (context: RequirementContext): Requirement[] => [
  new LeastStandoff(context),
  new ContactEndsCut(context),
  new TouchEndsCut(context),
];

/**
 * Share of the cut height that is left at least. Assumption: 0.5 mm of 1.5 clear the beads that a pierce throws up, and
 * leave what a touch-off and the give of a sheet may be wrong by.
 */
const LEAST_SHARE = 1 / 3;

/** No requirement yet: no-contact is; the target of the box is as wrong as the voltage that it was told. */
class LeastStandoff extends Requirement {
  readonly name = 'least-standoff';
  readonly number = 14;
  override readonly kind = 'goal';
  readonly statement =
    'while the box fires an arc and table or Z move, the true standoff is at least a third of cut height';
  readonly unit = 'mm';
  override readonly checked_unit = 'ms';
  private readonly least_mm = this.parameters.cut_height_mm * LEAST_SHARE;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0 || s.burning[i] === 0 || s.off_sheet[i] !== 0) return;
    const { standoff_mm, feed_mm_s, z_steps } = block;
    let least_mm = Number.POSITIVE_INFINITY;
    let least_row = 0;
    for (let row = s.from[i]; row < s.from[i + 1]; row++) {
      if (feed_mm_s[row] === 0 && z_steps[row] === 0) continue;
      this.checked++;
      if (standoff_mm[row] < least_mm) {
        least_mm = standoff_mm[row];
        least_row = row;
      }
    }
    if (least_mm < Number.POSITIVE_INFINITY) this.note(least_mm - this.least_mm, block.first_tick + least_row);
  }
}

/**
 * No requirement yet: pressed on slowly, as in a hold over a sheet that rises, the head floats longer before the switch closes.
 * How long the tip may rest on the sheet, ms: the switch closes after 0.8 mm of float, in 133 ms on a sheet that rises by 0.12
 * at 50 mm/s; 12 ms of chatter and 50 ms to be sure; rounded up.
 */
const CONTACT_MS = 200;

class ContactEndsCut extends Requirement {
  readonly name = 'contact-ends-cut';
  readonly number = 14;
  override readonly kind = 'goal';
  readonly statement = `the trigger goes off when the tip has truly been on the sheet for ${CONTACT_MS} ms`;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private contact_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0 || s.off_sheet[i] !== 0) {
      this.contact_ms = 0;
      return;
    }
    this.checked += s.from[i + 1] - s.from[i];
    const standoff_mm = block.standoff_mm;
    if (this.contact_ms === 0) this.note(CONTACT_MS, block.first_tick + s.from[i]);
    for (let row = s.from[i]; row < s.from[i + 1]; row++) {
      if (standoff_mm[row] > 0) {
        this.contact_ms = 0;
        continue;
      }
      this.note(CONTACT_MS - ++this.contact_ms, block.first_tick + row);
    }
  }
}

/** Twice the longest chatter that campaigns draw, and the debounce of a quick input, ms. */
const TOUCH_MS = 50;

class TouchEndsCut extends Requirement {
  readonly name = 'touch-ends-cut';
  readonly number = 14;
  readonly statement = `the trigger goes off when the touch-off switch has been closed for ${TOUCH_MS} ms`;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private closed_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_TRIGGER) === 0) {
      this.closed_ms = 0;
      return;
    }
    const length_ms = s.from[i + 1] - s.from[i];
    this.checked += length_ms;
    this.closed_ms = (s.digital_inputs[i] & INPUT_TOUCH) !== 0 ? this.closed_ms + length_ms : 0;
    const row = this.closed_ms === 0 ? s.from[i] : s.from[i + 1] - 1;
    this.note(TOUCH_MS - this.closed_ms, block.first_tick + row);
  }
}
