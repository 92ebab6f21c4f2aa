// A divider that reads a third too high inside the arc window: whatever the box is doing in the cut, it must not take that for an arc.
import { describe, expect, it } from 'vitest';
import { type Changes, cut, STRAIGHT } from './cut.js';

const KEY = { at_s: 0.2, line: 'key', on: true } as const;
const UNSEEN = { kind: 'dead-x-step-tap', at_s: 1 } as const;
/** The straight cut has its permit after 6.05 s and follows from 6.1 s on. */
const high = (at_s: number) => ({ kind: 'resistor-top-short', at_s }) as const;

const CUTS: readonly (readonly [string, Changes])[] = [
  ['in settle, as soon as the torch stands', { faults: [UNSEEN, high(6.1)] }],
  ['in settle, a second later', { faults: [UNSEEN, high(7)] }],
  ['in follow', { faults: [high(8)] }],
  ['in a corner hold, over a table that is no longer seen', { faults: [{ ...UNSEEN, at_s: 7 }, high(8)] }],
  [
    'in a hold by the hold input',
    {
      box: { external_path_mm: 200 },
      operator: [KEY, { at_s: 7, line: 'hold', on: true }],
      faults: [high(8)],
    },
  ],
];

describe.each([0, 1])('a reading that is a third too high (target_learned %i)', (target_learned) => {
  it.each(CUTS)('ends the cut within its bound %s', (_, changes) => {
    const run = cut(STRAIGHT, { ...changes, box: { ...changes.box, target_learned } });
    expect(run).toMatchObject({ broken: [], faults: ['crossing-long'], figures: { contacts: 0 } });
    expect(run.result('reading-ends-cut').margin).toBeLessThan(500);
  });
});

describe('a reading that is a third too high before the permit', () => {
  it.each([5.6, 5.9])('and a table that is not seen to move, from %d s on: the cut ends within its bound', (at_s) => {
    const run = cut(STRAIGHT, { faults: [UNSEEN, high(at_s)] });
    expect(run).toMatchObject({ broken: [], faults: ['crossing-long'] });
  });
});
