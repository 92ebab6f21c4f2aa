import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { FAULT_ROWS, MACHINE_ROWS, type Row, WORLD_ROWS } from '../../world/plant/index.js';

/** The three sections of a setup file and what each is for; they never mix. */
export const SECTIONS = {
  box: 'what is stored in the box: its parameters',
  machine: 'what can be measured on the machine with a rule and a meter',
  world: 'what is only assumed for simulation; never shown to the controller',
} as const;
export type Section = keyof typeof SECTIONS;
export const SECTION_NAMES = Object.keys(SECTIONS) as Section[];

/** A pure number has no unit to print or to write. */
const unitText = (unit: string) => (unit === '1' ? '' : unit);

/** The rows of one section; `path` starts with the section, as in `machine.axis.travel_mm`. */
export const SECTION_ROWS: Readonly<Record<Section, readonly Row[]>> = {
  box: PARAMETER_ROWS.map(({ name, unit, min, max, default: value, integer, meaning, drawn }) => ({
    path: `box.${name}`,
    kind: 'number',
    unit: unitText(unit),
    min,
    max,
    default: value,
    integer,
    meaning,
    drawn,
  })),
  machine: MACHINE_ROWS.map((row) => ({ ...row, path: `machine.${row.path}` })),
  world: WORLD_ROWS.map((row) => ({ ...row, path: `world.${row.path}` })),
};

/** Every row of a setup by its full path. */
export const ROWS_BY_PATH: ReadonlyMap<string, Row> = new Map(
  SECTION_NAMES.flatMap((section) => SECTION_ROWS[section].map((row) => [row.path, row] as const)),
);

/** A moment of a run. The longest run is a day. */
export const momentRow = (path: string, meaning: string): Row => ({
  path,
  kind: 'number',
  unit: 's',
  min: 0,
  max: 86_400,
  default: 0,
  meaning,
});

/** The numbers of a fault, by kind; `value` only where the kind takes one. */
export function faultRows(kind: string): Readonly<Record<string, Row>> {
  const value = FAULT_ROWS.map((row): { kind: string; value?: FaultValue } => row).find(
    (row) => row.kind === kind,
  )?.value;
  return {
    at_s: momentRow('world.faults.at_s', 'moment from the start of the run'),
    for_s: momentRow('world.faults.for_s', 'how long it lasts; to the end of the run without it'),
    ...(value && {
      value: { path: 'world.faults.value', kind: 'number', meaning: `strength of ${kind}`, ...value } as const,
    }),
  };
}

interface FaultValue {
  readonly unit: string;
  readonly min: number;
  readonly max: number;
  readonly default: number;
}

/** `0…5000 ms`, `1 or 3`, `true or false`. */
export function rangeText(row: Row): string {
  if (row.kind === 'boolean') return 'true or false';
  if (row.choices) return row.choices.join(' or ');
  return `${row.min}…${row.max}${row.unit && ` ${row.unit}`}${row.integer ? ', whole' : ''}`;
}

/** Meaning, range, default and the word assumption, in one line for an editor or a reference page. */
export function describeRow(row: Row): string {
  const unit = row.kind === 'number' && row.unit ? ` ${row.unit}` : '';
  const assumption = row.assumption ? '; assumption' : '';
  return `${row.meaning}; ${rangeText(row)}, default ${row.default}${unit}${assumption}`;
}
