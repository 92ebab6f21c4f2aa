import { z } from 'zod';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { FAULT_ROWS, type FaultRow, MACHINE_ROWS, type Row, WORLD_ROWS } from '../../world/plant/index.js';
import { OPERATOR_LINES } from '../loop/index.js';

/** The three sections of a setup file and what each is for; they never mix. */
const SECTIONS = {
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
  const row: FaultRow | undefined = FAULT_ROWS.find((one) => one.kind === kind);
  const value = row?.value;
  return {
    at_s: momentRow('world.faults.at_s', 'moment from the start of the run'),
    for_s: momentRow('world.faults.for_s', 'how long it lasts; to the end of the run without it'),
    ...(value && {
      value: { path: 'world.faults.value', kind: 'number', meaning: `strength of ${kind}`, ...value } as const,
    }),
  };
}

/** `0…5000 ms`, `1 or 3`, `true or false`. */
export function rangeText(row: Row): string {
  if (row.kind === 'boolean') return 'true or false';
  if (row.choices) return row.choices.join(' or ');
  return `${row.min}…${row.max}${row.unit && ` ${row.unit}`}${row.integer ? ', whole' : ''}`;
}

/** Meaning, range, default and the word assumption, in one line for an editor or a reference page. */
function describeRow(row: Row): string {
  const unit = row.kind === 'number' && row.unit ? ` ${row.unit}` : '';
  const assumption = row.assumption ? '; assumption' : '';
  return `${row.meaning}; ${rangeText(row)}, default ${row.default}${unit}${assumption}`;
}

/** What became of a text where a number with a unit was wanted. */
export type Quantity =
  | { readonly kind: 'number'; readonly value: number }
  | { readonly kind: 'wrong-unit'; readonly unit: string }
  | { readonly kind: 'comma' }
  | { readonly kind: 'no-number' };

const NUMBER = /^([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*)$/s;

/** `4 V/mm` in the row's unit, or a plain `4`; blanks around it do not matter. */
export function readQuantity(text: string, row: Row): Quantity {
  const found = NUMBER.exec(text.trim());
  if (!found) return { kind: 'no-number' };
  const [, number, unit] = found as unknown as [string, string, string];
  if (/^,\d/.test(unit)) return { kind: 'comma' };
  if (unit !== '' && plainUnit(unit) !== plainUnit(row.unit)) return { kind: 'wrong-unit', unit };
  return { kind: 'number', value: Number(number) };
}

/** The unit that a number is written with; empty when there is none. */
export const writtenUnit = (text: string): string => NUMBER.exec(text.trim())?.[2] ?? '';

/** The same unit as a keyboard without superscripts and Greek letters writes it: `mm/s²` → `mm/s2`. */
const plainUnit = (unit: string): string =>
  unit.replaceAll(' ', '').replaceAll('^', '').replaceAll('²', '2').replaceAll(/[µμ]/g, 'u');

/** Pattern of a text that `readQuantity` takes for this unit, for the JSON Schema. */
function quantityPattern(unit: string): string {
  const forms = [...new Set([unit, plainUnit(unit)])].map((form) => form.replaceAll(/[\\^$.*+?()[\]{}|]/g, '\\$&'));
  const number = String.raw`^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?`;
  return unit === '' ? String.raw`${number}\s*$` : String.raw`${number}\s*(${forms.join('|')})?\s*$`;
}

/** Version of the stored run that this code reads and writes. */
export const SCENARIO_VERSION = 2;
export const SCENARIO_FORMAT = `standoff scenario ${SCENARIO_VERSION}`;

/** Longest list of faults or operator events; beyond this a file is damaged rather than meant. */
const LONGEST_LIST = 1000;
export const GREATEST_SEED = 0xffff_ffff;

/** The schema of one value; unit and default travel along into the JSON Schema. */
function rowSchema(row: Row): z.ZodType {
  const about = { description: describeRow(row), default: row.default, unit: row.unit };
  if (row.kind === 'boolean') return z.boolean().meta(about);
  if (row.choices) return z.literal([...row.choices]).meta(about);
  const number = z.number().min(row.min).max(row.max);
  return (row.integer ? number.int() : number).meta(about);
}

function sectionSchema(section: Section): z.ZodType {
  const groups: Record<string, Record<string, z.ZodType>> = {};
  const direct: Record<string, z.ZodType> = {};
  for (const row of SECTION_ROWS[section]) {
    const [, first, second] = row.path.split('.') as [string, string, string?];
    if (second === undefined) {
      direct[first] = rowSchema(row).optional();
      continue;
    }
    groups[first] ??= {};
    groups[first][second] = rowSchema(row).optional();
  }
  const parts = Object.fromEntries(
    Object.entries(groups).map(([name, fields]) => [name, z.strictObject(fields).optional()]),
  );
  const faults = section === 'world' ? { faults: faultsSchema().optional() } : {};
  return z.strictObject({ ...direct, ...parts, ...faults }).meta({ description: SECTIONS[section] });
}

function faultsSchema(): z.ZodType {
  const kinds = FAULT_ROWS.map((row) => {
    const { at_s, for_s, value } = faultRows(row.kind);
    return z
      .strictObject({
        kind: z.literal(row.kind),
        at_s: rowSchema(at_s),
        for_s: rowSchema(for_s).optional(),
        ...(value && { value: rowSchema(value).optional() }),
      })
      .meta({ description: row.meaning });
  }) as unknown as [z.ZodObject<{ kind: z.ZodLiteral<string> }>];
  return z.array(z.discriminatedUnion('kind', kinds)).max(LONGEST_LIST).meta({ description: 'what breaks, and when' });
}

const sections = Object.fromEntries(SECTION_NAMES.map((name) => [name, sectionSchema(name).optional()]));

/** A setup file after its units were read: every key optional, every number within the range of its row. */
export const setupSchema = z.strictObject(sections).meta({
  title: 'Standoff setup',
  description: 'A box, the machine it sits on, and the world that is assumed. What is left out keeps its default.',
});

const operatorSchema = z.strictObject({
  at_s: rowSchema(momentRow('operator.at_s', 'moment from the start of the run')),
  line: z.enum(OPERATOR_LINES).meta({ description: 'what the operator touches' }),
  on: z.boolean().meta({ description: 'the state it goes to' }),
});

/** A stored run. The version in `format` is looked at before this schema is. */
export const scenarioSchema = z
  .strictObject({
    format: z.literal(SCENARIO_FORMAT).meta({ description: 'what this file is, and its version' }),
    seed: z.number().int().min(0).max(GREATEST_SEED).meta({ description: 'seed of everything random in the world' }),
    setup: z.strictObject(sections).optional(),
    program: z.strictObject({
      name: z.string().min(1).max(1000).meta({ description: 'file name, for messages' }),
      text: z.string().meta({ description: 'the whole RS-274 program' }),
    }),
    operator: z
      .array(operatorSchema)
      .max(LONGEST_LIST)
      .optional()
      .meta({ description: 'what the operator does; without it the key is turned on and the program runs' }),
  })
  .meta({ title: 'Standoff scenario', description: 'A stored run: the same result on every machine.' });

/** JSON Schema (draft 2020-12) for editors: a number may also be written with its unit, as in `4 V/mm`. */
function jsonSchema(schema: z.ZodType): object {
  return z.toJSONSchema(schema, {
    io: 'input',
    override: ({ jsonSchema: part }) => {
      const { unit } = part as { unit?: string };
      if (unit === undefined) return;
      delete (part as { unit?: string }).unit;
      if (part.type !== 'number' && part.type !== 'integer') return;
      if (part.enum) return;
      Object.assign(part, { type: [part.type, 'string'], pattern: quantityPattern(unit) });
    },
  });
}

/** The JSON Schema of a setup file, and of a stored run; with the meaning, unit, range and default of every key. */
export const setupJsonSchema = (): object => jsonSchema(setupSchema);
export const scenarioJsonSchema = (): object => jsonSchema(scenarioSchema);
