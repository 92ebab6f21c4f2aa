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
/** What lasts is looked for in every so many-th millisecond. */
const EVERY_MS = 5;

/** The first row from `from` on whose tick is looked at: the same ticks, however the run is cut into blocks. */
const firstRow = (first_tick: number, from: number) =>
  from + ((EVERY_MS - ((first_tick + from) % EVERY_MS)) % EVERY_MS);

/** What may last only so long while it is watched for. */
abstract class Lasting extends Requirement {
  readonly number = 15;
  readonly unit = 'ms';
  override readonly checked_unit = 'ms';
  protected abstract readonly longest_ms: number;
  private lasted_ms = 0;

  protected abstract watchesFor(s: Stretches, i: number): boolean;
  protected abstract isOff(block: TraceBlock, row: number): boolean;

  protected override stretch(block: TraceBlock, s: Stretches, i: number): void {
    if (!this.watchesFor(s, i)) {
      this.lasted_ms = 0;
      return;
    }
    this.checked += s.from[i + 1] - s.from[i];
    if (this.lasted_ms === 0) this.note(this.longest_ms, block.first_tick + s.from[i]);
    for (let row = firstRow(block.first_tick, s.from[i]); row < s.from[i + 1]; row += EVERY_MS) {
      const off = this.isOff(block, row);
      this.lasted_ms = off ? this.lasted_ms + EVERY_MS : 0;
      if (off) this.note(this.longest_ms - this.lasted_ms, block.first_tick + row);
    }
  }
}

const permitted = (s: Stretches, i: number) => (s.digital_outputs[i] & OUTPUT_PERMIT) !== 0;

class ReadingEndsCut extends Lasting {
  readonly name = 'reading-ends-cut';
  readonly statement =
    `the motion permit ends when the voltage that the box measures has been ${FALSE_V} V off the true one for ${FALSE_MS} ms`;
  protected readonly longest_ms = FALSE_MS;

  protected watchesFor(s: Stretches, i: number): boolean {
    return permitted(s, i);
  }

  protected isOff({ measured_V, true_V }: TraceBlock, row: number): boolean {
    return Math.abs(measured_V[row] - true_V[row]) > FALSE_V;
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

/** So far above cut height the kerf is lost and the arc soon is; for so long. Assumptions. */
const HIGH_MM = 3;
const HIGH_MS = 500;

/** No requirement yet: a table that moves while the tap of a step line is dead is not seen to move, and Z is left alone. */
class MostStandoff extends Lasting {
  readonly name = 'most-standoff';
  override readonly kind = 'goal';
  readonly statement =
    `under the permit and over the sheet the arc does not burn ${HIGH_MM} mm above cut height for more than ${HIGH_MS} ms`;
  protected readonly longest_ms = HIGH_MS;
  private readonly most_mm = this.parameters.cut_height_mm + HIGH_MM;

  protected watchesFor(s: Stretches, i: number): boolean {
    return permitted(s, i) && s.burning[i] !== 0 && s.off_sheet[i] === 0;
  }

  protected isOff({ standoff_mm }: TraceBlock, row: number): boolean {
    return standoff_mm[row] > this.most_mm;
  }
}
