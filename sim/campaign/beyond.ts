// What no box could have kept: decided by what was drawn alone, whatever the box then did. It excuses contact and nothing else.
import type { OperatorEvent } from '../run/loop/index.js';
import type { Setup } from '../run/setup/index.js';

/** All that decides. */
export interface Causes {
  readonly machine: Setup['machine'];
  readonly world: Setup['world'];
  readonly operator: readonly OperatorEvent[];
}

interface Predicate {
  readonly name: string;
  /** Why no box could have kept the tip off the sheet, with the arithmetic. */
  readonly why: string;
  readonly holds: (causes: Causes) => boolean;
}

/**
 * Faults with which no box can keep the tip off the sheet: the axis does not obey, a hand fires the torch wherever it
 * is, or the table moves unseen and Z rests for want of steps.
 */
const FAULTS: readonly string[] = [
  'lost-steps',
  'reversed-direction',
  'unpowered-axis',
  'hand-on-trigger',
  'latching-trigger',
  'welded-relay',
  'breakaway',
  'dead-x-step-tap',
  'dead-y-step-tap',
];

/** The steepest rise of the sheet along any path, mm/mm: of the plane, at the end of the bow, and at the foot of a wave. */
export function steepestSheet({ machine, world: { sheet } }: Pick<Causes, 'machine' | 'world'>): number {
  const plane = Math.hypot(sheet.tilt_x, sheet.tilt_y);
  const bow = (4 * Math.abs(sheet.bow_mm)) / machine.table.sheet_width_mm;
  return plane + bow + (2 * Math.PI * sheet.wave_mm) / sheet.wave_length_mm;
}

/** Fixed before any campaign; a new row needs its arithmetic here and a case on either side of it in the tests. */
export const BEYOND_THE_BOX: readonly Predicate[] = [
  {
    name: 'axis or trigger out of reach',
    why: 'the axis does not obey, a hand or a part fires the torch, or the steps of the table cannot be seen',
    holds: ({ world }) => world.faults.some(({ kind }) => FAULTS.includes(kind)),
  },
  {
    name: 'hold input',
    why: 'it orders the box to leave Z alone; the operator answers for what the sheet does meanwhile',
    holds: ({ operator }) => operator.some(({ line }) => line === 'hold'),
  },
  {
    name: 'sheet rises faster than the motor climbs',
    why: 'steepest rise (plane + 4 × bow / width + 2π × wave / length) × fastest motion of the table > fastest Z of the motor',
    holds: ({ machine, world }) =>
      steepestSheet({ machine, world }) * machine.table.rapid_mm_s > machine.axis.velocity_mm_s,
  },
];

/** Whether contact is excused: one of the predicates holds, on the drawn causes alone. */
export const beyondTheBox = (causes: Causes): boolean => BEYOND_THE_BOX.some(({ holds }) => holds(causes));
