import { Z_STEPS_PER_TICK } from '../../firmware/wire/layout.gen.js';
import { StandoffError, TICKS_PER_S } from '../base/index.js';
import { ROWS_BY_PATH } from './rows.js';

/** A relation between two parameters that each alone is inside its range. The box refuses to start without it. */
interface Relation {
  readonly lower: string;
  readonly upper: string;
  readonly may_be_equal: boolean;
  readonly why: string;
}

const relation = (lower: string, sign: '<' | '<=', upper: string, why: string): Relation => ({
  lower,
  upper,
  may_be_equal: sign === '<=',
  why,
});

/** The same list as `consistent()` of the control module; a test holds the two against each other. */
const RELATIONS: readonly Relation[] = [
  relation('rest_V', '<', 'arc_low_V', 'a voltage near zero must not count as an arc'),
  relation('arc_low_V', '<', 'target_V', 'the target must lie inside the arc window'),
  relation('target_V', '<', 'transfer_V', 'the arc transfers from above the target'),
  relation('transfer_V', '<=', 'arc_high_V', 'the arc transfers inside the arc window'),
  relation('cut_height_mm', '<=', 'pierce_height_mm', 'the torch is lowered after the pierce'),
  relation('seek_slow_mm_s', '<=', 'seek_fast_mm_s', 'the second approach is the slow one'),
  relation('seek_travel_mm', '<=', 'travel_mm', 'the touch-off stays within the travel'),
  relation('follow_down_mm_s', '<=', 'z_velocity_mm_s', 'follow is part of what Z can do'),
];

export interface Contradiction {
  readonly names: readonly [string, string];
  readonly what: string;
  readonly remedy: string;
}

/** The first relation that the parameters break, with both values; compared as the box stores them, in 32 bits. */
export function firstContradiction(box: Readonly<Record<string, number>>): Contradiction | undefined {
  for (const { lower, upper, may_be_equal, why } of RELATIONS) {
    const low = Math.fround(box[lower]!);
    const high = Math.fround(box[upper]!);
    if (low < high || (may_be_equal && low === high)) continue;
    const word = may_be_equal ? 'is above' : 'is not below';
    return {
      names: [lower, upper],
      what: `box.${lower} ${valueText(lower, box)} ${word} box.${upper} ${valueText(upper, box)}`,
      remedy: `change one of them: ${why}; the box refuses to start otherwise`,
    };
  }
  return tooManySteps(box);
}

/** Z steps faster than the box has room for in a millisecond would come late: Z would go on after it was told to stop. */
function tooManySteps(box: Readonly<Record<string, number>>): Contradiction | undefined {
  const steps_per_s = Math.fround(Math.fround(box.z_velocity_mm_s!) * Math.fround(box.z_steps_per_mm!));
  if (steps_per_s <= Z_STEPS_PER_TICK * TICKS_PER_S) return undefined;
  const [speed, steps] = ['z_velocity_mm_s', 'z_steps_per_mm'] as const;
  return {
    names: [speed, steps],
    what:
      `box.${speed} ${valueText(speed, box)} times box.${steps} ${valueText(steps, box)} is ` +
      `${Number((steps_per_s / TICKS_PER_S).toFixed(3))} steps a millisecond, above the ${Z_STEPS_PER_TICK} that the box can put out`,
    remedy: 'lower the speed, or set the drive to fewer steps for a millimetre; the box refuses to start otherwise',
  };
}

/**
 * @param place where one of these parameters stands, followed by a colon and a blank; empty when it is not in a file
 * @throws StandoffError `setup-contradiction`
 */
export function refuseContradiction(
  box: Readonly<Record<string, number>>,
  place: (names: readonly string[]) => string,
): void {
  const found = firstContradiction(box);
  if (found) throw new StandoffError('setup-contradiction', place(found.names) + found.what, found.remedy);
}

function valueText(name: string, box: Readonly<Record<string, number>>): string {
  const unit = ROWS_BY_PATH.get(`box.${name}`)!.unit;
  return `(${box[name]} ${unit})`;
}
