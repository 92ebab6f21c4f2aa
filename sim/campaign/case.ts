import { Random } from '../base/index.js';
import { OPERATOR_LINES, type OperatorEvent, PLAIN_OPERATOR } from '../run/loop/index.js';
import type { Scenario, Setup } from '../run/setup/index.js';
import { FAULT_ROWS, type Fault, type FaultRow, withValues } from '../world/plant/index.js';
import type { Ranges } from './ranges.js';
import { drawnValues } from './relations.js';

/** One cut of a campaign: how it differs from the setup under test. */
export interface Case {
  /** Seed of everything random in the world. */
  readonly seed: number;
  /** Values by path, with their section. */
  readonly values: Readonly<Record<string, number>>;
  readonly faults: readonly Fault[];
  /** Besides the key, which goes on at the start. */
  readonly operator: readonly OperatorEvent[];
}

/** What the cases of a campaign have in common. */
export interface CaseSpace {
  readonly setup: Setup;
  readonly ranges: Ranges;
  /** Faults and operator actions come within this time, s. */
  readonly duration_s: number;
}

/** Units that a fault takes: is there one, which, when, how long, how strong. */
const FAULT_UNITS = 5;
/** Units that an operator action takes: which input, when, on or off. */
const ACTION_UNITS = 3;
const FAULTS_MOST = 2;

/** How many numbers from 0 to 1 describe a case, without its seed. */
export const unitCount = ({ numbers, operator_most }: Ranges): number =>
  numbers.length + FAULTS_MOST * FAULT_UNITS + 1 + operator_most * ACTION_UNITS + 1;

/** Where the numbers of a case are, and how to set some of them on purpose. */
export function unitLayout(ranges: Ranges) {
  const { numbers, operator_most, operator_chance } = ranges;
  const first = numbers.length;
  const acting = first + FAULTS_MOST * FAULT_UNITS;
  const chances = ranges.faults.length > 0 ? faultChances(ranges).filter((chance) => chance > 0) : [];
  const faults = chances.map((chance, count) => {
    const at = first + count * FAULT_UNITS;
    return { there: at, chance, kind: at + 1, when: at + 2, length: at + 3, value: at + 4 };
  });
  const actions = Array.from({ length: operator_chance > 0 ? operator_most : 0 }, (_, count) => {
    const at = acting + 1 + count * ACTION_UNITS;
    return { what: at, when: at + 1, on: at + 2 };
  });
  const inputs = OPERATOR_LINES.length;
  return {
    size: unitCount(ranges),
    /** The first numbers are the quantities. */
    quantities: first,
    fault_kinds: ranges.faults.length,
    /** A fault is there when its number is below its chance. */
    faults,
    /** Whether, and how often, the operator acts. */
    acting,
    actions,
    /** Each input on, each input off, and the way out of a fault. */
    action_kinds: 2 * inputs + 1,
    /** Numbers for a kind of action: what it is, and whether on or off; null: that number says something else. */
    unitsOfAction: (kind: number): readonly [what: number, on: number | null] =>
      kind === 2 * inputs
        ? [0.9, null]
        : [(0.75 * (Math.floor(kind / 2) + 0.5)) / inputs, kind % 2 === 0 ? 0.25 : 0.75],
    actionsOf: (acting: number) => actionCount(ranges, acting),
    actingFor: (actions: number) => ((actions - 0.5) / operator_most) * operator_chance,
  };
}
export type UnitLayout = ReturnType<typeof unitLayout>;

/** Chances of the first and of the second fault. */
const faultChances = ({ fault_chance, second_fault_chance }: Ranges) => [fault_chance, second_fault_chance] as const;

/** How often the operator acts. */
const actionCount = ({ operator_chance, operator_most }: Ranges, acting: number): number =>
  acting < operator_chance ? Math.min(operator_most, 1 + Math.floor((acting / operator_chance) * operator_most)) : 0;

/**
 * The case at a point of the unit cube; random sampling and search both use it. @param units `unitCount` numbers in 0…1
 */
export function caseAt({ setup, ranges, duration_s }: CaseSpace, units: ArrayLike<number>, seed: number): Case {
  const box_drawn = units[unitCount(ranges) - 1] < ranges.box_chance;
  const values = drawnValues(setup, ranges, units, box_drawn);
  let at = ranges.numbers.length;
  const faults: Fault[] = [];
  for (const chance of faultChances(ranges)) {
    if (units[at] < chance && ranges.faults.length > 0) faults.push(faultAt(ranges, duration_s, units, at + 1));
    at += FAULT_UNITS;
  }
  const acting = units[at++];
  const events = actionCount(ranges, acting);
  const operator: OperatorEvent[] = [];
  for (let count = 0; count < events; count++) {
    operator.push(...actionAt(duration_s, units, at + count * ACTION_UNITS));
  }
  return { seed, values, faults, operator };
}

/** The case with a number of a campaign: the same on every machine and for any number of workers. */
export function caseOf(space: CaseSpace, campaign_seed: number, index: number): Case {
  const random = new Random(campaign_seed, index + 1);
  const units = new Float64Array(unitCount(space.ranges));
  for (let at = 0; at < units.length; at++) units[at] = random.uniform();
  return caseAt(space, units, random.next_u32() >>> 1);
}

const hundredth = (value: number) => Math.round(value * 100) / 100;
const pick = <T>(list: readonly T[], unit: number): T =>
  list[Math.min(list.length - 1, Math.floor(unit * list.length))]!;

function faultAt(ranges: Ranges, duration_s: number, units: ArrayLike<number>, at: number): Fault {
  const kind = pick(ranges.faults, units[at]);
  const row: FaultRow = FAULT_ROWS.find((one) => one.kind === kind)!;
  const at_s = hundredth(units[at + 1] * duration_s);
  const length = units[at + 2];
  // A third lasts to the end, the rest from 10 ms to 3 s, short ones as often as long ones.
  const for_s = hundredth(0.01 + 3 * (length * 1.5) ** 3);
  const { value } = row;
  return {
    kind,
    at_s,
    ...(length < 2 / 3 && { for_s }),
    ...(value && { value: Number((value.min + (value.max - value.min) * units[at + 3]).toFixed(3)) }),
  };
}

/** Three actions in four turn one input; the fourth does what the remedies of the faults say, in a hurry. */
function actionAt(duration_s: number, units: ArrayLike<number>, at: number): OperatorEvent[] {
  const at_s = thousandth(units[at + 1] * duration_s);
  const which = units[at];
  if (which < 0.75) return [{ line: pick(OPERATOR_LINES, which / 0.75), at_s, on: units[at + 2] >= 0.5 }];
  const pace_s = 0.02 + 0.3 * units[at + 2];
  return RECOVERY.map(([line, on], step) => ({ line, on, at_s: thousandth(at_s + step * pace_s) }));
}

/** Request off, chain closed, reset, key off and on, request on: the way out of a fault. */
const RECOVERY: readonly (readonly [OperatorEvent['line'], boolean])[] = [
  ['request', false],
  ['stop-chain', true],
  ['reset', true],
  ['reset', false],
  ['key', false],
  ['key', true],
  ['request', true],
];

const thousandth = (value: number) => Math.round(value * 1000) / 1000;

/** The setup with the values of a case. */
export function caseSetup(setup: Setup, { values, faults }: Case): Setup {
  const parts = { box: {}, machine: {}, world: {} } as Record<string, Record<string, number>>;
  for (const [path, value] of Object.entries(values)) {
    const dot = path.indexOf('.');
    parts[path.slice(0, dot)][path.slice(dot + 1)] = value;
  }
  return {
    box: { ...setup.box, ...parts.box },
    machine: withValues(setup.machine, parts.machine),
    world: { ...withValues(setup.world, parts.world), faults: [...setup.world.faults, ...faults] },
  };
}

export const caseOperator = ({ operator }: Case): readonly OperatorEvent[] => [...PLAIN_OPERATOR, ...operator];

/** The case as a stored run, which `standoff simulate --scenario` repeats. */
export function caseScenario(setup: Setup, one: Case, program: Scenario['program']): Scenario {
  return { seed: one.seed, setup: caseSetup(setup, one), program, operator: [...caseOperator(one)] };
}
