import { describe, expect, it } from 'vitest';
import { RARE_DEFECTS } from '../bench/rare-defects.js';
import { DEFECTS } from '../explore/defects.js';
import { buildModule, plantedSource } from './build.js';
import { brokenRows, layersOf } from './layers.js';
import { type Mutant, planted } from './mutant.js';
import { MUTANTS, plantedAt, SOUND } from './rows.js';

const ALL: readonly Mutant[] = [...MUTANTS, ...RARE_DEFECTS, ...DEFECTS];

describe('the planted defects', () => {
  it.each(ALL.map((mutant) => [mutant.name, mutant] as const))('%s still applies', (_, mutant) => {
    expect(mutant.replacement).not.toBe(mutant.search);
    expect(plantedSource(mutant)).toContain(mutant.replacement);
  });

  it.each(layersOf(ALL).map((layer, index) => [index, layer] as const))(
    'compile: layer %d',
    async (_, layer) => {
      expect(await brokenRows(layer)).toEqual([]);
    },
    60_000,
  );

  it('are named when they do not compile, wherever they are planted', async () => {
    const [layer] = layersOf(ALL);
    const broken = { ...layer[3], name: 'arbitrary', replacement: `${layer[3].search} arbitrary();` };
    const [said, ...others] = await brokenRows([layer[0], broken]);
    expect(said).toMatch(/arbitrary does not compile.*arbitrary/s);
    expect(others).toEqual([]);
  }, 60_000);

  it('are at least 40, each with a name and a sentence of its own', () => {
    expect(MUTANTS.length).toBeGreaterThanOrEqual(40);
    expect(new Set(MUTANTS.map(({ name }) => name)).size).toBe(MUTANTS.length);
    expect(new Set(MUTANTS.map(({ plants }) => plants)).size).toBe(MUTANTS.length);
  });
});

describe('the module as it is', () => {
  it('stands beside the rows, and is built without a defect', async () => {
    const [sound, planted] = await Promise.all([SOUND, 0].map((place) => buildModule(...plantedAt(place))));
    expect(Buffer.from(sound).equals(Buffer.from(await buildModule()))).toBe(true);
    expect(Buffer.from(sound).equals(Buffer.from(planted))).toBe(false);
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
