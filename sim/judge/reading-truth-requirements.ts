// One chapter of the requirements; judge.ts lists them all and would be 1400 lines with them.
import { OUTPUT_LATCHED_STOP, OUTPUT_PERMIT, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import type { TraceBlock } from '../run/trace/index.js';
import type { RequirementContext } from './context.js';
import { Requirement } from './requirement.js';
import type { Stretches } from './stretches.js';

/** Requirement 15: what the box believes of the arc, against the arc. */
export const readingTruthRequirements = (context: RequirementContext): Requirement[] => [
  new ReadingEndsCut(context),
  new RestMeansRest(context),
  new MostStandoff(context),
];

/** Further off than any noise and any filter leaves the mean over half a mains period; 3.75 mm at 4 V/mm. */
const FALSE_V = 15;
/** Longer than crossing_ms is set to, after which the box must decide what such a voltage is. */
const FALSE_MS = 500;
/** A disagreement is looked for in every so many-th millisecond: it lasts. */
const EVERY_MS = 5;

/** The first row from `from` on whose tick is looked at: the same ticks, however the run is cut into blocks. */
const firstRow = (first_tick: number, from: number) =>
  from + ((EVERY_MS - ((first_tick + from) % EVERY_MS)) % EVERY_MS);

class ReadingEndsCut extends Requirement {
  readonly name = 'reading-ends-cut';
  readonly number = 15;
  readonly statement =
    `the motion permit ends when the voltage that the box measures has been ${FALSE_V} V off the true one for ${FALSE_MS} ms`;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private false_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_PERMIT) === 0) {
      this.false_ms = 0;
      return;
    }
    const { measured_V, true_V } = block;
    this.checked += s.from[i + 1] - s.from[i];
    if (this.false_ms === 0) this.note(FALSE_MS, block.first_tick + s.from[i]);
    for (let row = firstRow(block.first_tick, s.from[i]); row < s.from[i + 1]; row += EVERY_MS) {
      const off = Math.abs(measured_V[row] - true_V[row]) > FALSE_V;
      this.false_ms = off ? this.false_ms + EVERY_MS : 0;
      if (off) this.note(FALSE_MS - this.false_ms, block.first_tick + row);
    }
  }
}

/** Beside fall_ms: what the box takes to be sure that there is voltage at rest, or a closed contact. */
const CONFIRM_MS = 200;

/** The arc itself, where voltage-falls goes by what the box measures. */
class RestMeansRest extends Requirement {
  readonly name = 'rest-means-rest';
  readonly number = 15;
  readonly statement =
    `after trigger off no arc truly burns on the work beyond fall_ms and ${CONFIRM_MS} ms, or the latched stop is set`;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private readonly longest_ms = this.parameters.fall_ms + CONFIRM_MS;
  private burnt_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    const outputs = s.digital_outputs[i];
    if ((outputs & OUTPUT_TRIGGER) !== 0 || s.burning[i] === 0) {
      this.burnt_ms = 0;
      return;
    }
    const length_ms = s.from[i + 1] - s.from[i];
    this.checked += length_ms;
    this.burnt_ms += length_ms;
    if ((outputs & OUTPUT_LATCHED_STOP) !== 0) this.note(this.longest_ms, block.first_tick + s.from[i]);
    else this.note(this.longest_ms - this.burnt_ms, block.first_tick + s.from[i + 1] - 1);
  }
}

/** So far above cut height the kerf is lost and the arc soon is; for so long. Assumptions. No requirement yet: a hold input that stays on has no bound. */
const HIGH_MM = 3;
const HIGH_MS = 500;

class MostStandoff extends Requirement {
  readonly name = 'most-standoff';
  readonly number = 15;
  override readonly kind = 'goal';
  readonly statement =
    `under the permit and over the sheet the arc does not burn ${HIGH_MM} mm above cut height for more than ${HIGH_MS} ms`;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  private readonly most_mm = this.parameters.cut_height_mm + HIGH_MM;
  private high_ms = 0;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if ((s.digital_outputs[i] & OUTPUT_PERMIT) === 0 || s.burning[i] === 0 || s.off_sheet[i] !== 0) {
      this.high_ms = 0;
      return;
    }
    const { standoff_mm, first_tick } = block;
    this.checked += s.from[i + 1] - s.from[i];
    if (this.high_ms === 0) this.note(HIGH_MS, first_tick + s.from[i]);
    for (let row = firstRow(first_tick, s.from[i]); row < s.from[i + 1]; row += EVERY_MS) {
      const high = standoff_mm[row] > this.most_mm;
      this.high_ms = high ? this.high_ms + EVERY_MS : 0;
      if (high) this.note(HIGH_MS - this.high_ms, first_tick + row);
    }
  }
}
