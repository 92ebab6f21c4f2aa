import { describe, expect, it } from 'vitest';
import { improves, type Trial, togetherOf, worsened } from '../../../sim/run/advice/index.js';

/** A run as it is compared: what it cut is not. */
const trial = (change: Partial<Trial> = {}): Trial => ({
  plan: undefined as unknown as Trial['plan'],
  figures: undefined as unknown as Trial['figures'],
  verdict: undefined as unknown as Trial['verdict'],
  finished: true,
  broken: [],
  contacts: 0,
  goals_missed: [],
  error_rms_mm: 0.1,
  least_mm: [1.3, 1.2],
  cost: 2,
  lowest_mm: 1.2,
  ...change,
});
const worse = (before: Partial<Trial>, after: Partial<Trial>) =>
  worsened([{ before: trial(before), after: trial(after) }]);

describe('a change', () => {
  it('improves a cut when the runs together are less bad by a twentieth', () => {
    const pair = (before: number, after: number) => ({
      before: trial({ cost: before }),
      after: trial({ cost: after }),
    });
    expect(improves([pair(2, 1.5), pair(2, 2.2)])).toBe(true);
    expect(improves([pair(2, 1.9), pair(2, 1.95)])).toBe(false);
  });

  it('makes nothing worse when the runs are the same', () => expect(worse({}, {})).toEqual([]));

  it.each([
    ['a requirement that is broken', {}, { broken: ['floor'] }, ['floor']],
    ['another requirement than before', { broken: ['z-travel'] }, { broken: ['floor'] }, ['floor']],
    ['a contact', {}, { contacts: 1 }, ['contact']],
    ['a contact that is left, if there were more before', { contacts: 3 }, { contacts: 1 }, ['contact']],
    ['a cut that no longer finishes', {}, { finished: false }, ['not finished']],
    ['a goal that is missed', { goals_missed: ['following-rms'] }, { goals_missed: ['corner-dive'] }, ['corner-dive']],
    ['a torch that goes lower than any goal lets it', {}, { least_mm: [1.3, 1.18] }, ['least standoff']],
  ])('makes worse: %s', (_name, before, after, names) => expect(worse(before, after)).toEqual(names));

  it('may miss one goal in another run, but in no more runs', () => {
    const missing = trial({ goals_missed: ['corner-dive'] });
    const moved = [
      { before: missing, after: trial() },
      { before: trial(), after: missing },
    ];
    expect(worsened(moved)).toEqual([]);
    expect(worsened([...moved, { before: trial(), after: missing }])).toEqual(['corner-dive']);
  });

  it('may bring the torch down to where it ought to be', () => {
    expect(worse({ least_mm: [2, 1.9] }, { least_mm: [1.3, 1.25] })).toEqual([]);
  });

  it('is compared with a cut that stopped only over what that one cut', () => {
    const stopped = { finished: false, least_mm: [1.3, 1.4] };
    expect(worse(stopped, { goals_missed: ['corner-dive'], least_mm: [1.3, 1.1, 1.1] })).toEqual([]);
    expect(worse(stopped, { least_mm: [1.1, 1.4, 1.4] })).toEqual(['least standoff']);
  });
});

describe('the figures of some runs together', () => {
  it('are the counts, the mean error and the least standoff', () => {
    const runs = [
      trial({ goals_missed: ['a', 'b'], contacts: 2, error_rms_mm: 0.3, least_mm: [1.1, 0] }),
      trial({ finished: false, error_rms_mm: null, least_mm: [null] }),
    ];
    expect(togetherOf(runs)).toEqual({
      runs: 2,
      finished: 1,
      broken: 1,
      goals_missed: 2,
      error_rms_mm: 0.3,
      least_standoff_mm: 0,
    });
    expect(togetherOf([trial({ error_rms_mm: null, least_mm: [] })])).toMatchObject({
      error_rms_mm: null,
      least_standoff_mm: null,
    });
  });
});
