import { describe, expect, it } from 'vitest';
import { DEFAULT_MACHINE, DEFAULT_WORLD, MACHINE_ROWS, WORLD_ROWS } from '../../../sim/world/plant/index.js';

describe('the rows of the simulated machine and world', () => {
  it.each([
    ['machine', MACHINE_ROWS, DEFAULT_MACHINE],
    ['world', WORLD_ROWS, DEFAULT_WORLD],
  ] as const)('give the %s defaults, which lie inside their ranges', (_name, rows, config) => {
    const paths = new Set<string>();
    for (const row of rows) {
      const [part, field] = row.path.split('.') as [string, string];
      const value = (config as unknown as Record<string, Record<string, number | boolean>>)[part][field];
      expect(value, row.path).toBe(row.default);
      expect(typeof value, row.path).toBe(row.kind === 'boolean' ? 'boolean' : 'number');
      expect(Number(value), row.path).toBeGreaterThanOrEqual(row.min);
      expect(Number(value), row.path).toBeLessThanOrEqual(row.max);
      if (row.integer) expect(Number.isInteger(value), row.path).toBe(true);
      if (row.choices) expect(row.choices, row.path).toContain(value);
      expect(paths.has(row.path), `${row.path} twice`).toBe(false);
      paths.add(row.path);
    }
    const fields = Object.entries(config)
      .filter(([part]) => part !== 'faults')
      .flatMap(([part, values]) => Object.keys(values as object).map((field) => `${part}.${field}`));
    expect(new Set(fields)).toEqual(paths);
  });

  it('call everything in the world an assumption, since no published number was found', () => {
    expect(WORLD_ROWS.filter((row) => !row.assumption)).toEqual([]);
  });

  it('carry the unit in the name of each number that has one', () => {
    const endings: Record<string, RegExp> = {
      mm: /_mm$/,
      ms: /_ms$/,
      V: /_V(_peak|_rms|_rms_per_tick|_per_start)?$/,
      'mm/s': /_mm_(per_)?s$/,
      Hz: /_Hz$/,
      A: /_A$/,
      um: /_um$/,
      kHz: /_kHz$/,
      counts: /_counts$/,
      '%': /_percent$/,
      N: /_N$/,
    };
    for (const row of [...MACHINE_ROWS, ...WORLD_ROWS]) {
      const ending = endings[row.unit];
      if (ending) expect(row.path).toMatch(ending);
    }
  });
});
