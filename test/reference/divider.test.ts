import { describe, expect, it } from 'vitest';
import { budgetOf, highestRatio, lowestRatio } from '../../sim/electrical/budget.js';
import { settlingTimes } from '../../sim/electrical/filter.js';
import { machineWith, USE } from '../electrical/machine.js';
import { askPython, describeAgainst, SCIPY } from './support.js';

describe('a divider’s tolerance', () => {
  // Source: check value, 3.3 V over 20 kΩ / 10 kΩ of 1 %: 1.115 V at most, 1.0854 V at least.
  it('at worst is that of the published example', () => {
    expect(3.3 / lowestRatio(1, 3)).toBeCloseTo(1.1147, 4);
    expect(3.3 / highestRatio(1, 3)).toBeCloseTo(1.0854, 4);
  });
});

describe('settling into a converter', () => {
  // Source: a converter maker's equation (seen): 9.01 RC for half a step of 12 bits, 7.62 for 10.
  it('takes the published number of time constants', () => {
    expect(settlingTimes(12)).toBeCloseTo(9.01, 2);
    expect(settlingTimes(10)).toBeCloseTo(7.62, 2);
  });
});

describeAgainst(SCIPY, 'the statistical tolerance, against a million drawn dividers', (python) => {
  const machine = machineWith({ 'divider.tolerance_percent': 1 });
  const { divider, isolation } = machine;
  const answer = askPython<{ readonly likely_percent: number; readonly sum_mm: number }>(python, 'divider.py', {
    divider,
    input_kohm: isolation.input_kohm,
    terms_V: budgetOf(machine, USE)
      .terms.filter(({ kind }) => kind === 'drift' || kind === 'step')
      .map(({ error_V }) => error_V),
    slope_V_per_mm: USE.slope_V_per_mm,
  });

  it('of the ratio is two standard deviations of the draw', () => {
    // A million draws know a standard deviation to 0.07 %; the first-order formula errs by another few tenths at 1 %.
    expect(budgetOf(machine, USE).likely_ratio_percent / answer.likely_percent).toBeCloseTo(1, 2);
  });

  it('of a sum of errors is two standard deviations of the draw', () => {
    expect(budgetOf(machine, USE).wander.likely_mm / answer.sum_mm).toBeCloseTo(1, 2);
  });
});
