import { ORIGIN_NAMES } from '../../../base/index.js';
import { FAULT_ROWS, type FaultKind } from '../../../world/plant/index.js';
import { type Case, quantity, repair, type Suspicion } from './suspicion.js';

/** What to look at, for each thing that can break. */
const MEND: Readonly<Record<FaultKind, string>> = {
  'open-lead':
    'Follow both sensing leads from torch and work to the divider, with the supply unplugged, and mend the open one.',
  'reversed-leads': 'Exchange the two sensing leads at the divider.',
  'shorted-capacitor': 'Replace the filter capacitor of the divider.',
  'filter-capacitor-open': 'Replace the filter capacitor of the divider, or its joint.',
  'stuck-code': 'Look at the isolation stage, the converter and their supply.',
  'intermittent-contact':
    'Wiggle connectors and leads of the sensing, with the supply unplugged and a meter on them; mend what opens.',
  'resistor-top-open': 'Measure the upper resistors of the divider one by one; replace the open one.',
  'resistor-top-short': 'Measure the upper resistors of the divider one by one; replace the shorted one.',
  'resistor-bottom-open': 'Replace the lower resistor of the divider.',
  'resistor-bottom-short': 'Replace the lower resistor of the divider.',
  'dead-converter': 'Look at the converter, its supply and its wires.',
  'welded-relay': 'Replace the firing contact; a snubber across it keeps it from welding.',
  'latching-trigger': 'Set the supply to a trigger that is held, not pulled twice.',
  'hand-on-trigger': 'Take the trigger of the torch out of reach, and keep hands off it.',
  'lost-steps': 'Look at the coupling, the current of the Z motor and its load; a lower acceleration helps too.',
  'reversed-direction': 'Turn the direction of Z round, in its drive or by exchanging one pair of motor wires.',
  'stuck-touch-switch': 'Free the touch-off switch, or replace it.',
  'touch-never-closes': 'Look at the touch-off switch and its wire: press it by hand and look at what the box shows.',
  breakaway: 'Seat the torch in its holder, and find what it ran into.',
  'arc-never-starts': 'Look at the work clamp, the consumables, the air and the firing lead.',
  'arc-goes-out': 'Look at the work clamp, the consumables and the air.',
  'unpowered-axis': 'Look at the supply and the enable wire of the Z drive.',
  'missing-supply-contact': "Look at the wire of the supply's arc contact.",
  'dead-x-step-tap': 'Look at the tap of the X step wire at the box: the feed that it shows must change with X.',
  'dead-y-step-tap': 'Look at the tap of the Y step wire at the box: the feed that it shows must change with Y.',
  'stuck-readback': 'Look at the wire of the readback of the firing contact.',
  'reference-off': "Look at the board's reference: something loads it.",
  'late-tick': 'Report it: the box must never be that slow.',
  'new-consumables': 'Let the box find the target at each start: set target_learned to 1.',
};

/** What breaks in this world, who stopped the cut, and a program that leaves the sheet. */
export const breakage = (of: Case): Suspicion[] => [...operators(of), ...faults(of), ...offSheet(of)];

function faults({ setup }: Case): Suspicion[] {
  const kinds = new Set(setup.world.faults.map(({ kind }) => kind));
  return [...kinds].map((kind) => {
    const { at_s } = setup.world.faults.find((fault) => fault.kind === kind)!;
    const row = FAULT_ROWS.find((one) => one.kind === kind)!;
    const changes = [{ path: `world.faults.${kind}`, from: `from ${at_s} s`, to: 'none' }];
    const what = `In this world something breaks ${quantity(at_s, 's')} after power-up: ${row.meaning} (${kind}).`;
    return { cause: kind, what, seen: seenOf(kind), remedies: [{ do: MEND[kind], changes }] };
  });
}

const SENSED = /lead|capacitor|resistor|converter|code|contact$|reference/;
const MOVED = /steps|direction|axis|tap/;

function seenOf(kind: FaultKind): string {
  if (kind === 'new-consumables') return 'At the table the first cut after the change is at another height.';
  if (MOVED.test(kind)) return 'At the table what moves is not what the box shows.';
  if (SENSED.test(kind)) return 'At the table the voltage shown is not that of a meter at the torch.';
  return 'At the table the box names the fault, or stops in the same place again.';
}

function operators({ verdict, scenario }: Case): Suspicion[] {
  const { stop } = verdict;
  if (stop?.by !== 'operator' || !scenario.operator?.length) return [];
  const what = `The operator stopped the cut in line ${stop.line}: ${stop.why}.`;
  const changes = [{ path: 'operator', from: stop.cause, to: 'none' }];
  const seen = 'At the table whoever did it knows why.';
  return [{ cause: 'operator', what, seen, remedies: [{ do: 'Find out why, and cut it again.', changes }] }];
}

/** Room between the cut and an edge of the sheet, mm. */
const ROOM_MM = 3;

/** A cut may end beyond the edge on purpose: only one that stopped is told. */
function offSheet({ setup, plan, verdict }: Case): Suspicion[] {
  const bounds = plan.cut_bounds;
  if (bounds === undefined || verdict.stop === null) return [];
  const { sheet_width_mm, sheet_height_mm } = setup.machine.table;
  const x_mm = overhang(bounds.min_x_mm, bounds.max_x_mm, sheet_width_mm);
  const y_mm = overhang(bounds.min_y_mm, bounds.max_y_mm, sheet_height_mm);
  if (x_mm === 0 && y_mm === 0) return [];
  const origin = setup.machine.origins as unknown as Readonly<Record<string, number>>;
  const name = ORIGIN_NAMES.G54;
  const moved = (axis: 'x' | 'y', by_mm: number) => origin[name[axis]] - Math.sign(by_mm) * (Math.abs(by_mm) + ROOM_MM);
  const values = {
    ...(x_mm !== 0 && { [`machine.origins.${name.x}`]: moved('x', x_mm) }),
    ...(y_mm !== 0 && { [`machine.origins.${name.y}`]: moved('y', y_mm) }),
  };
  const shifts = [shiftText('X', x_mm), shiftText('Y', y_mm)].filter((text) => text !== '').join(' and ');
  const off = [x_mm, y_mm].filter((by) => by !== 0).map((by) => quantity(Math.abs(by), 'mm'));
  const what = `The cut runs off the sheet by ${off.join(' and ')}.`;
  const seen = 'At the table the arc goes out in the air beyond the edge.';
  return [{ cause: 'off-sheet', what, seen, remedies: [repair(setup, `Move the program by ${shifts}.`, values)] }];
}

/** How far a cut reaches beyond the sheet; negative beyond the lower end. */
const overhang = (from_mm: number, to_mm: number, size_mm: number): number =>
  from_mm < 0 ? from_mm : Math.max(0, to_mm - size_mm);

const shiftText = (axis: string, by_mm: number): string =>
  by_mm === 0 ? '' : `${quantity(Math.abs(by_mm) + ROOM_MM, 'mm')} along ${axis}${by_mm < 0 ? '+' : '-'}`;
