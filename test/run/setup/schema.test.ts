import { describe, expect, it } from 'vitest';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { scenarioJsonSchema, setupJsonSchema } from '../../../sim/run/setup/index.js';
import { FAULT_ROWS, MACHINE_ROWS, WORLD_ROWS } from '../../../sim/world/plant/index.js';

interface Schema {
  readonly type?: string | string[];
  readonly properties?: Record<string, Schema>;
  readonly additionalProperties?: boolean;
  readonly items?: { oneOf: Schema[] };
  readonly description?: string;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly default?: number | boolean;
  readonly enum?: number[];
  readonly pattern?: string;
  readonly const?: string;
  readonly required?: string[];
}

const at = (schema: Schema, path: string): Schema =>
  path.split('.').reduce((inside, word) => inside.properties![word], schema);

function leafCount(schema: Schema): number {
  if (!schema.properties) return 1;
  return Object.values(schema.properties).reduce((sum, inner) => sum + leafCount(inner), 0);
}

describe('the JSON Schema of a setup', () => {
  const schema = setupJsonSchema() as Schema;

  it('has a field for every row and for nothing else', () => {
    const rows = PARAMETER_ROWS.length + MACHINE_ROWS.length + WORLD_ROWS.length;
    expect(leafCount(schema)).toBe(rows + 1); // and world.faults
    for (const row of PARAMETER_ROWS) expect(at(schema, `box.${row.name}`), row.name).toBeDefined();
    for (const row of MACHINE_ROWS) expect(at(schema, `machine.${row.path}`), row.path).toBeDefined();
    for (const row of WORLD_ROWS) expect(at(schema, `world.${row.path}`), row.path).toBeDefined();
  });

  it('allows no other key at any level', () => {
    const check = (part: Schema) => {
      if (!part.properties) return;
      expect(part.additionalProperties).toBe(false);
      Object.values(part.properties).forEach(check);
    };
    check(schema);
  });

  it('carries range, default, meaning and unit of each parameter', () => {
    for (const row of PARAMETER_ROWS) {
      const field = at(schema, `box.${row.name}`);
      expect(field).toMatchObject({ minimum: row.min, maximum: row.max, default: row.default });
      expect(field.description).toContain(row.meaning);
      if (row.unit !== '1') expect(field.description).toContain(`${row.max} ${row.unit}`);
    }
  });

  it('calls every quantity of the world an assumption', () => {
    for (const row of WORLD_ROWS) expect(at(schema, `world.${row.path}`).description).toContain('assumption');
  });

  it('takes a number with its unit, and no other unit', () => {
    const { type, pattern } = at(schema, 'box.z_acceleration_mm_s2');
    expect(type).toEqual(['number', 'string']);
    const accepts = new RegExp(pattern!, 'u');
    for (const text of ['900 mm/s²', '900mm/s2', '900', '9e2 mm/s²']) expect(text).toMatch(accepts);
    for (const text of ['900 mm/s', '900 m/s²', '9,5 mm/s²', 'fast']) expect(text).not.toMatch(accepts);
  });

  it('tells flags, choices and whole numbers apart', () => {
    expect(at(schema, 'machine.supply.restrikes').type).toBe('boolean');
    expect(at(schema, 'machine.supply.phases').enum).toEqual([1, 3]);
    expect(at(schema, 'machine.head.bounce_ms').type).toEqual(['integer', 'string']);
  });

  it('lists every kind of fault, with a value only where the kind takes one', () => {
    const kinds = at(schema, 'world.faults').items!.oneOf;
    expect(kinds.map(({ properties }) => properties!.kind.const)).toEqual(FAULT_ROWS.map(({ kind }) => kind));
    kinds.forEach((kind, index) => {
      const row = FAULT_ROWS[index];
      expect('value' in kind.properties!, row.kind).toBe('value' in row);
      expect(kind.required).toEqual(['kind', 'at_s']);
    });
  });
});

describe('the JSON Schema of a stored run', () => {
  it('holds the version, and the same fields as a setup', () => {
    const schema = scenarioJsonSchema() as Schema;
    expect(schema.properties!.format.const).toBe('standoff scenario 2');
    expect(at(schema, 'setup.box').properties).toEqual(at(setupJsonSchema() as Schema, 'box').properties);
  });
});
