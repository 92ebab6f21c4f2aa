import { describe, expect, it } from 'vitest';
import { controlModule } from '../../../sim/run/controller/index.js';
import { buildModule } from '../../mutants/build.js';
import { MUTANTS } from '../../mutants/rows.js';
import { type Changes, cut, STRAIGHT } from './cut.js';

/** Defects that a requirement by truth catches, with the run that shows it. */
const PLANTED: readonly (readonly [string, string, Changes])[] = [
  [
    'reading-ends-cut',
    'stuck-reading-allowed',
    { box: { target_learned: 0 }, faults: [{ kind: 'stuck-code', at_s: 7, value: 1343 }] },
  ],
  ['rest-means-rest', 'voltage-at-rest-never', { faults: [{ kind: 'latching-trigger', at_s: 7 }] }],
];

describe('a requirement by truth', () => {
  it.each(PLANTED)('%s catches the planted %s and is kept without it', async (requirement, name, changes) => {
    const mutant = MUTANTS.find((one) => one.name === name)!;
    const module = controlModule(await buildModule(mutant));
    expect(cut(STRAIGHT, changes).result(requirement)).toMatchObject({ kept: true });
    expect(cut(STRAIGHT, { ...changes, module }).result(requirement)).toMatchObject({ kept: false });
  });
});
