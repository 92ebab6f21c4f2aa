import { describe, expect, it } from 'vitest';
import { RARE_DEFECTS } from '../bench/rare-defects.js';
import { DEFECTS } from '../explore/defects.js';
import { plantedSource } from './build.js';
import { type Mutant, planted } from './mutant.js';
import { MUTANTS } from './rows.js';

describe('the planted defects', () => {
  it.each([...MUTANTS, ...RARE_DEFECTS, ...DEFECTS].map((mutant) => [mutant.name, mutant] as const))(
    '%s still applies',
    (_, mutant) => {
      expect(mutant.replacement).not.toBe(mutant.search);
      expect(plantedSource(mutant)).toContain(mutant.replacement);
    },
  );

  it('are at least 40, each with a name and a sentence of its own', () => {
    expect(MUTANTS.length).toBeGreaterThanOrEqual(40);
    expect(new Set(MUTANTS.map(({ name }) => name)).size).toBe(MUTANTS.length);
    expect(new Set(MUTANTS.map(({ plants }) => plants)).size).toBe(MUTANTS.length);
  });
});

describe('a search text', () => {
  const mutant: Mutant = { name: 'made', file: 'guard.ts', search: 'a', replacement: 'b', plants: 'b for a' };

  it('is replaced where it stands, whatever the replacement holds', () => {
    expect(planted('xay', { ...mutant, replacement: '$&$1' })).toBe('x$&$1y');
  });

  it.each([
    ['is not there', 'xy', '0 times'],
    ['occurs twice', 'xaya', '2 times'],
  ])('that %s is an error that names file and text', (_, source, count) => {
    expect(() => planted(source, mutant)).toThrow(`made: firmware/control/guard.ts has ${count}: a`);
  });
});
