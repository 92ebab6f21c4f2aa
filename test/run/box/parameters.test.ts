import { describe, expect, it } from 'vitest';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { Session } from '../../../sim/link/index.js';
import { changesBetween, readBox, writeChanges } from '../../../sim/run/box/index.js';
import { FakeLine } from '../../link/fake-line.js';
import { delivered } from '../../link/flashing.js';

const defaults = Object.fromEntries(PARAMETER_ROWS.map((row) => [row.name, row.default]));

describe('the parameters in a box', () => {
  it('are read as the shortest numbers that it stores so', async () => {
    const session = new Session(new FakeLine(delivered()));
    expect(await readBox(session)).toEqual(defaults);
    await session.close();
  });

  it('are changed together, and only those that differ in 32 bits', async () => {
    const session = new Session(new FakeLine(delivered()));
    const wanted = {
      ...defaults,
      pierce_ms: 400,
      cut_height_mm: 1.6,
      reading_gain_mV: defaults.reading_gain_mV + 1e-8,
    };
    const changes = changesBetween(await readBox(session), wanted);
    expect(changes.map(({ row, before, after }) => [row.name, before, after])).toEqual([
      ['pierce_ms', 500, 400],
      ['cut_height_mm', 1.5, 1.6],
    ]);
    expect(await writeChanges(session, changes)).toBeGreaterThan(0);
    expect(changesBetween(await readBox(session), wanted)).toEqual([]);
    await session.close();
  });
});
