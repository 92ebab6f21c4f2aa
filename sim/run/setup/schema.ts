import { z } from 'zod';
import { FAULT_ROWS, type Row } from '../../world/plant/index.js';
import { quantityPattern } from './quantity.js';
import { describeRow, faultRows, momentRow, SECTION_NAMES, SECTION_ROWS, SECTIONS, type Section } from './rows.js';

/** Version of the stored run that this code reads and writes. */
export const SCENARIO_VERSION = 2;
export const SCENARIO_FORMAT = `standoff scenario ${SCENARIO_VERSION}`;

/** What an operator can do to the box during a run. */
export const OPERATOR_LINES = ['key', 'request', 'stop-chain', 'hold', 'reset'] as const;

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
        at_s: rowSchema(at_s!),
        for_s: rowSchema(for_s!).optional(),
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
