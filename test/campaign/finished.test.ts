import { describe, expect, it } from 'vitest';
import { addFinished, type Finished, finishedTable, finishedTotal, joinFinished } from '../../sim/campaign/quality.js';
import { DEFAULT_WORLD, withValues } from '../../sim/world/plant/index.js';

const world = (slope: number, noise: number) =>
  withValues(DEFAULT_WORLD, { 'arc.slope_V_per_mm': slope, 'noise.white_V_rms_per_tick': noise });

describe('cuts that did not finish', () => {
  const one: Finished = {};
  addFinished(one, world(2.9, 0.3), false, ['no-response']);
  addFinished(one, world(3, 0.3), false, ['wrong-way']);
  addFinished(one, world(7, 1.1), true, []);

  it('are counted by slope and noise, a refused strike apart from a cut that was stopped', () => {
    const { noises, rows } = finishedTable(one);
    expect(noises).toEqual(['0-0.4', '0.4-0.8', '0.8-']);
    expect(rows).toEqual([
      ['0-3', '1 of 1', '', ''],
      ['3-4', '0 of 1', '', ''],
      ['4-6', '', '', ''],
      ['6-', '', '', '0 of 1'],
    ]);
    expect(finishedTotal(one)).toEqual({ cuts: 3, unfinished: 2, refused: 1 });
  });

  it('add up', () => {
    const sum: Finished = {};
    joinFinished(sum, one);
    joinFinished(sum, one);
    expect(finishedTotal(sum)).toEqual({ cuts: 6, unfinished: 4, refused: 2 });
  });
});
