// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { MODE_FOLLOW, MODE_HOLD, MODE_SEEK, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import {
  FLAG_ARC_OK,
  INPUT_REQUEST,
  OUTPUT_LATCHED_STOP,
  OUTPUT_PERMIT,
  OUTPUT_TRIGGER,
} from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import { HISTORY_ROWS, type Stretches } from './stretches.js';

/** Requirement 7: the motion permit. */
export const permitRequirements = (context: RequirementContext): Requirement[] => [
  new PermitCondition(context),
  new PermitHeight(context),
  new PermitWithdrawal(context),
  new Standstill(context),
  new StrayMotion(context),
  new NoRestrike(context),
];

class PermitCondition extends Requirement {
  readonly name = 'permit-condition';
  readonly number = 7;
  readonly statement = 'the motion permit is on only with arc OK, without a fault, in settle, follow or hold';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_PERMIT) === 0) return;
    const length_ms = s.from[i + 1] - s.from[i];
    this.checked += length_ms;
    const mode = s.mode[i];
    const kept =
      (s.flags[i] & FLAG_ARC_OK) !== 0 &&
      s.fault[i] === 0 &&
      (mode === MODE_SETTLE || mode === MODE_FOLLOW || mode === MODE_HOLD);
    if (!kept) this.add(length_ms, block.first_tick + s.from[i]);
  }
}

/** How far from cut height the permit may be given, mm: a tenth of the smallest cut height. */
const PERMIT_HEIGHT_MM = 0.05;

class PermitHeight extends Requirement {
  readonly name = 'permit-height';
  readonly number = 7;
  readonly statement = 'the motion permit is given with Z at cut height above the touched sheet, within 0.05 mm';
  readonly unit = 'mm';
  private readonly cut_height_mm = this.parameters.cut_height_mm;
  private readonly steps_per_mm = this.parameters.z_steps_per_mm;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & ~s.digital_outputs[i - 1] & OUTPUT_PERMIT) === 0) return;
    this.checked++;
    const row = s.from[i];
    const height_mm = (s.z_at[HISTORY_ROWS + row - 1] - s.z_sheet[i]) / this.steps_per_mm;
    // Without a touch-off the height is NaN, and the requirement is broken.
    this.note(PERMIT_HEIGHT_MM - Math.abs(height_mm - this.cut_height_mm), block.first_tick + row);
  }
}

/** Judged by the true arc, whatever the box believes. */
class PermitWithdrawal extends Requirement {
  readonly name = 'permit-withdrawal';
  readonly number = 7;
  readonly statement =
    'when the arc goes out under a motion permit, the permit is withdrawn within the sensing delay, crossing_ms and arc_off_ms';
  readonly unit = 'ms';
  private readonly permit_off_ms = this.context.permit_off_ms;
  private since_tick = -1;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const tick = block.first_tick + s.from[i];
    const permit = (s.digital_outputs[i] & OUTPUT_PERMIT) !== 0;
    const was_permit = (s.digital_outputs[i - 1] & OUTPUT_PERMIT) !== 0;
    // An arc that ends with the trigger, without a fault, was not lost.
    const loss = (s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0 || s.fault[i] !== 0;
    if (loss && was_permit && s.burning[i - 1] !== 0 && s.burning[i] === 0) {
      this.since_tick = tick;
      this.checked++;
    }
    if (this.since_tick < 0) return;
    if (s.burning[i] !== 0) {
      // It burns again within the bound: a flicker, and the permit was right to stay.
      this.since_tick = -1;
      return;
    }
    const until = permit ? block.first_tick + s.from[i + 1] : tick;
    this.note(this.permit_off_ms - (until - this.since_tick), until);
    if (!permit) this.since_tick = -1;
  }
}

/**
 * The low-passed feed falls from 500 mm/s, the fastest cut, to the 0.5 mm/s of a table at rest in ln(1000) = 6.9 of
 * them.
 */
const TIME_CONSTANTS = 7;
/** A count begins one tick late, and acts in the tick in which it is full. */
const COUNT_TICKS = 2;

/**
 * An arc must not burn for ever over a table that does not move. Judged by where the table truly is: the steps that the
 * box counts may be wrong.
 */
class Standstill extends Requirement {
  readonly name = 'standstill';
  readonly number = 7;
  readonly statement =
    'over a table that stands still under the motion permit, permit or arc ends within standstill_s and seven feed_filter_ms';
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private readonly longest_ms =
    this.parameters.standstill_s * 1000 + TIME_CONSTANTS * (this.parameters.feed_filter_ms + 1) + COUNT_TICKS;
  private x_mm = 0;
  private y_mm = 0;
  private still_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_PERMIT) === 0 || s.burning[i] === 0) {
      this.still_ms = 0;
      return;
    }
    this.checked += s.from[i + 1] - s.from[i];
    this.rows(block, s.from[i], s.from[i + 1]);
  }

  private rows(block: TraceBlock, from: number, end: number): void {
    const { x_mm, y_mm } = block;
    for (let row = from; row < end; row++) {
      if (x_mm[row] !== this.x_mm || y_mm[row] !== this.y_mm) {
        this.x_mm = x_mm[row];
        this.y_mm = y_mm[row];
        this.still_ms = 0;
        continue;
      }
      this.still_ms++;
      this.note(this.longest_ms - this.still_ms, block.first_tick + row);
    }
  }
}

/** Without a step for this long the table counts as at rest: at 160 steps/mm that is below 0.2 mm/s. */
const STILL_MS = 50;

/** A motion controller that keeps moving without a permit, while it still requests the torch. */
class StrayMotion extends Requirement {
  readonly name = 'stray-motion';
  readonly number = 7;
  readonly statement =
    'X/Y motion that lasts for stray_ms after the permit was withdrawn in the middle of a contour sets the latched stop';
  readonly unit = 'ms';
  private readonly stray_ms = this.parameters.stray_ms;
  private watching = false;
  private moving_since = -1;
  private last_moved = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const requested = (s.digital_inputs[i] & INPUT_REQUEST) !== 0;
    const withdrawn = (s.digital_outputs[i - 1] & ~s.digital_outputs[i] & OUTPUT_PERMIT) !== 0;
    if (withdrawn && requested) {
      this.watching = true;
      this.moving_since = -1;
      this.checked++;
    }
    if (!requested || (s.digital_outputs[i] & OUTPUT_LATCHED_STOP) !== 0) this.watching = false;
    if (this.watching) this.rows(block, s.from[i], s.from[i + 1]);
  }

  private rows(block: TraceBlock, from: number, end: number): void {
    const { x_steps, y_steps } = block;
    for (let row = from; row < end; row++) {
      if ((x_steps[row] | y_steps[row]) === 0) continue;
      const tick = block.first_tick + row;
      if (this.moving_since < 0 || tick - this.last_moved > STILL_MS) this.moving_since = tick;
      this.last_moved = tick;
      this.note(this.stray_ms + COUNT_TICKS - (tick - this.moving_since + 1), tick);
    }
  }
}

/** One arc a contour, once X and Y were allowed to move. */
class NoRestrike extends Requirement {
  readonly name = 'no-restrike';
  readonly number = 7;
  readonly statement = 'once the motion permit was given, the trigger does not go on again before the next touch-off';
  readonly unit = 'times';
  private given = false;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if (s.mode[i] === MODE_SEEK) this.given = false;
    const change = s.digital_outputs[i] ^ s.digital_outputs[i - 1];
    if ((change & OUTPUT_TRIGGER) !== 0 && this.given) {
      if ((s.digital_outputs[i] & OUTPUT_TRIGGER) !== 0) this.add(1, block.first_tick + s.from[i]);
      else this.checked++;
    }
    if ((s.digital_outputs[i] & OUTPUT_PERMIT) !== 0) this.given = true;
  }
}
