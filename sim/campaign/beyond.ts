// What no box could have kept: decided by what was drawn alone, whatever the box then did. It excuses contact and nothing else.
import { CONTACT_MM } from '../judge/index.js';
import type { OperatorEvent } from '../run/loop/index.js';
import type { Setup } from '../run/setup/index.js';
import { FAULT_ROWS, type FaultKind, type FaultRow, steepestSheet } from '../world/plant/index.js';

/** All that decides. */
export interface Causes {
  readonly box: Setup['box'];
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

/** A torch that stands at cut height, over a sheet that vibrates, is that far from contact, mm. */
const clearance = ({ box, world }: Causes): number => box.cut_height_mm - CONTACT_MM - world.sheet.vibration_mm;

/** How far the sheet can come up while Z stands and the table goes on so long, mm. */
const rise = (causes: Causes, time_s: number): number =>
  steepestSheet(causes) * causes.machine.table.rapid_mm_s * time_s;

type Reach = (causes: Causes, time_s: number, value: number) => boolean;
const always: Reach = () => true;
const sheetComesUp: Reach = (causes, time_s) => rise(causes, time_s) >= clearance(causes);

/**
 * Faults with which no box can keep the tip off the sheet, and how long each must last for it: the axis does not obey, a hand
 * fires the torch wherever it is, or an arc burns on or the table moves unseen while Z rests.
 */
const FAULTS: Readonly<Partial<Record<FaultKind, Reach>>> = {
  // What is lost of the fastest travel of Z in that time.
  'lost-steps': (causes, time_s, value) => value * causes.box.z_velocity_mm_s * time_s >= clearance(causes),
  // Down instead of up: twice the fastest travel.
  'reversed-direction': (causes, time_s) => 2 * causes.box.z_velocity_mm_s * time_s >= clearance(causes),
  'unpowered-axis': always,
  'hand-on-trigger': always,
  breakaway: always,
  'latching-trigger': sheetComesUp,
  'welded-relay': sheetComesUp,
  'dead-x-step-tap': sheetComesUp,
  'dead-y-step-tap': sheetComesUp,
};

const ROWS: readonly FaultRow[] = FAULT_ROWS;
/** The strength of a fault that gives none. */
const defaultOf = (kind: FaultKind): number => ROWS.find((row) => row.kind === kind)?.value?.default ?? 0;

/** Fixed before any campaign; a new row needs its arithmetic here and a case on either side of it in the tests. */
export const BEYOND_THE_BOX: readonly Predicate[] = [
  {
    name: 'axis or trigger out of reach',
    why:
      'the axis does not obey, a hand or a part fires the torch, or the steps of the table cannot be seen, for so long that ' +
      'Z (its fastest × time × share) or the sheet (steepest × fastest motion × time) can go all the way from cut height to contact',
    holds: (causes) =>
      causes.world.faults.some(({ kind, for_s = Infinity, value = defaultOf(kind) }) =>
        FAULTS[kind]?.(causes, for_s, value),
      ),
  },
  {
    name: 'hold input',
    why: 'turned on, it orders the box to leave Z alone for external_path_mm of a contour: steepest rise × that path ≥ cut height less contact',
    holds: (causes) =>
      causes.operator.some(({ line, on }) => line === 'hold' && on) &&
      steepestSheet(causes) * causes.box.external_path_mm >= clearance(causes),
  },
  {
    name: 'sheet rises faster than the motor climbs',
    why: 'steepest rise (plane + 4 × bow / width + 2π × wave / length + 3.08 × bump / size) × fastest motion of the table > fastest Z of the motor',
    holds: ({ machine, world }) =>
      steepestSheet({ machine, world }) * machine.table.rapid_mm_s > machine.axis.velocity_mm_s,
  },
];

/** Whether contact is excused: one of the predicates holds, on the drawn causes alone. */
export const beyondTheBox = (causes: Causes): boolean => BEYOND_THE_BOX.some(({ holds }) => holds(causes));
