import { PARAMETER_ROWS } from './parameter-rows.js';

/**
 * Relations between parameters that each alone are inside their ranges. The module's table, and with it every refusal of the
 * box, and the host's sentences come from these rows: the module says which one is broken, by the ids.
 */
export interface RelationRow {
  readonly lower: string;
  readonly upper: string;
  /** True: the two may not be equal either. */
  readonly strict: boolean;
  readonly why: string;
}

const relation = (lower: string, sign: '<' | '<=', upper: string, why: string): RelationRow => ({
  lower,
  upper,
  strict: sign === '<',
  why,
});

/** In the order in which they are looked at: the first that is broken is told. */
export const RELATION_ROWS: readonly RelationRow[] = [
  relation('rest_V', '<', 'arc_low_V', 'a voltage near zero must not count as an arc'),
  relation('arc_low_V', '<', 'target_V', 'the target must lie inside the arc window'),
  relation('target_V', '<', 'arc_high_V', 'the target must lie inside the arc window'),
  relation('cut_height_mm', '<=', 'pierce_height_mm', 'the torch is lowered after the pierce'),
  relation('touch_offset_mm', '<', 'cut_height_mm', 'the touch-off switch must be open in the cut'),
  relation('seek_slow_mm_s', '<=', 'seek_fast_mm_s', 'the second approach is the slow one'),
  relation('seek_travel_mm', '<=', 'travel_mm', 'the touch-off stays within the travel'),
  relation('follow_down_mm_s', '<=', 'z_velocity_mm_s', 'follow is part of what Z can do'),
];

/** Looked at last: the product of these two, steps a second, may not be above what the board says it can put out. */
export const CAPACITY_ROW = { speed: 'z_velocity_mm_s', steps: 'z_steps_per_mm' } as const;

export interface Contradiction {
  readonly names: readonly [string, string];
  readonly what: string;
  readonly remedy: string;
}

const idOf = (name: string): number => PARAMETER_ROWS.findIndex((row) => row.name === name);

/** Ids of each pair that is broken, as the box stores the values; but for what the board can put out. @param box values by name */
export const brokenPairs = (box: Readonly<Record<string, number>>): (readonly [number, number])[] =>
  RELATION_ROWS.flatMap(({ lower, upper, strict }) => {
    const [low, high] = [Math.fround(box[lower]!), Math.fround(box[upper]!)];
    return low < high || (!strict && low === high) ? [] : [[idOf(lower), idOf(upper)] as const];
  });

/**
 * What the ids that the module gave mean, in words with both values.
 * @param box values by name @param capacity Z steps that the board puts out in a millisecond
 * @returns undefined for two parameters between which there is no relation here
 */
export function contradictionOf(
  [first, second]: readonly [number, number],
  box: Readonly<Record<string, number>>,
  capacity: number,
): Contradiction | undefined {
  const lower = PARAMETER_ROWS[first]?.name ?? '';
  const upper = PARAMETER_ROWS[second]?.name ?? '';
  const said = (name: string) => `box.${name} (${box[name]} ${PARAMETER_ROWS.find((row) => row.name === name)?.unit})`;
  const row = RELATION_ROWS.find((one) => one.lower === lower && one.upper === upper);
  if (row !== undefined) {
    return {
      names: [lower, upper],
      what: `${said(lower)} ${row.strict ? 'is not below' : 'is above'} ${said(upper)}`,
      remedy: `change one of them: ${row.why}; the box refuses to start otherwise`,
    };
  }
  if (lower !== CAPACITY_ROW.speed || upper !== CAPACITY_ROW.steps) return undefined;
  const steps_per_ms = Math.fround(Math.fround(box[lower]!) * Math.fround(box[upper]!)) / 1000;
  return {
    names: [lower, upper],
    what:
      `${said(lower)} times ${said(upper)} is ${Number(steps_per_ms.toFixed(3))} steps a millisecond, ` +
      `above the ${capacity} that the box can put out`,
    remedy: 'lower the speed, or set the drive to fewer steps for a millimetre; the box refuses to start otherwise',
  };
}
