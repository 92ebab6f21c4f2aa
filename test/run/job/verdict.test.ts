import { describe, expect, it } from 'vitest';
import { loadControlModule } from '../../../sim/run/controller/index.js';
import { JobRun, jobOf } from '../../../sim/run/job/index.js';
import type { OperatorEvent } from '../../../sim/run/loop/index.js';
import { exampleSetup, type Setup } from '../../../sim/run/setup/index.js';
import type { Fault } from '../../../sim/world/plant/index.js';

const module = loadControlModule();
// The first contour is followed from 5.8 s to 7 s.
const text = 'G21 G90 F3000\nG0 X50 Y50\nM3\nG1 X110\nM5\nG4 P1\nG0 X50 Y120\nM3\nG1 X110\nM5\nG4 P1\nM2\n';
const KEY_ON: OperatorEvent = { at_s: 0.2, line: 'key', on: true };

interface Change {
  readonly faults?: readonly Fault[];
  readonly operator?: readonly OperatorEvent[];
  readonly start_only?: boolean;
}

function cut({ faults = [], operator = [KEY_ON], start_only = false }: Change): JobRun {
  const { box, machine, world } = exampleSetup();
  const table = { ...machine.table, permit_watched: !start_only };
  const setup: Setup = { box, machine: { ...machine, table }, world: { ...world, faults } };
  const made = new JobRun(jobOf({ seed: 1, setup, program: { name: 'two.nc', text }, operator }), module);
  while (!made.finished) made.advance();
  return made;
}
const stopOf = (change: Change) => cut(change).verdict.stop;

describe('the verdict of a run', () => {
  it('is finished without a fault and without a broken requirement', () => {
    const { word, stop, broken, contacts } = cut({}).verdict;
    expect({ word, stop, broken, contacts }).toEqual({ word: 'finished', stop: null, broken: [], contacts: 0 });
  });

  it.each([
    ['key', 'key', 'the key was turned off'],
    ['request', 'request', 'the torch request was withdrawn'],
    ['stop-chain', 'stop-chain', 'the stop chain opened during a cut'],
  ] as const)('is stopped by the operator who takes the %s away in the cut', (line, cause, why) => {
    const { verdict } = cut({ operator: [KEY_ON, { at_s: 6.2, line, on: false }] });
    expect(verdict).toMatchObject({
      word: 'stopped',
      broken: [],
      stop: { by: 'operator', cause, why, contour: 0, line: 4 },
    });
    expect(verdict.stop!.at_s).toBeGreaterThan(6.1);
    expect(verdict.stop!.at_s).toBeLessThan(8);
  });

  it.each([
    ['key', 9, 1],
    ['key', 0, 0],
    ['request', 9, 1],
    ['stop-chain', 9, 1],
  ] as const)('is stopped by the operator when the %s is off from %d s, outside a cut', (line, at_s, contour) => {
    const operator = at_s === 0 ? [] : [KEY_ON, { at_s, line, on: false }];
    expect(stopOf({ operator })).toMatchObject({ by: 'operator', cause: line, contour });
  });

  it.each([
    ['open-lead', 6.2, 'no-voltage', 0],
    ['arc-never-starts', 0, 'no-arc', 0],
    ['arc-goes-out', 6.2, 'arc-lost', 0],
    ['breakaway', 6.2, 'breakaway', 0],
    ['breakaway', 9, 'breakaway', 1],
    ['open-lead', 9, 'no-voltage', 1],
  ] as const)('is stopped by the box at the fault %s from %d s: %s', (kind, at_s, cause, contour) => {
    const { verdict } = cut({ faults: [{ kind, at_s }] });
    expect(verdict).toMatchObject({ word: 'stopped', stop: { by: 'box', cause, contour } });
    expect(verdict.stop!.why).not.toBe('');
  });

  it('is not finished where the box raised a fault and the table ran on to the end of the program', () => {
    // A table that reads the permit once; the arc goes out 0.4 s before the last M5.
    const run = cut({ start_only: true, faults: [{ kind: 'arc-goes-out', at_s: 14.2 }] });
    expect(run.outcome.ended).toBe('finished');
    expect(run.verdict.stop).toMatchObject({ by: 'box', cause: 'arc-lost', contour: 1 });
    expect(run.verdict.word).not.toBe('finished');
  });

  it('is stopped by the user who breaks it off', () => {
    const { box, machine, world } = exampleSetup();
    const scenario = { seed: 1, setup: { box, machine, world }, program: { name: 'two.nc', text } };
    const made = new JobRun(jobOf(scenario), module);
    made.advance();
    made.breakOff('ended with q');
    expect(made.verdict).toMatchObject({ word: 'stopped', stop: { by: 'user', why: 'ended with q' } });
  });
});
