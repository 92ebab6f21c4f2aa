import { describe, expect, it } from 'vitest';
import { BEYOND_THE_BOX, beyondTheBox } from '../../sim/campaign/beyond.js';
import { caseOf, caseSetup } from '../../sim/campaign/case.js';
import { brokenRequirements } from '../../sim/campaign/case-runner.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { FAULT_ROWS, type FaultKind, steepestSheet, withValues } from '../../sim/world/plant/index.js';

const setup = defaultSetup();
const sound = { ...setup, operator: [] };
const withFault = (kind: (typeof FAULT_ROWS)[number]['kind']) => ({
  ...sound,
  world: { ...setup.world, faults: [{ kind, at_s: 1 }] },
});
/** A plane that rises so much, and nothing else. */
const leaning = (tilt_x: number) => ({
  ...sound,
  world: withValues(setup.world, { 'sheet.tilt_x': tilt_x, 'sheet.wave_mm': 0 }),
  machine: withValues(setup.machine, { 'axis.velocity_mm_s': 5, 'table.rapid_mm_s': 100 }),
});

describe('what no box could have kept', () => {
  it('is each of these and no other fault: the list stands before a campaign', () => {
    const excused = FAULT_ROWS.map(({ kind }) => kind).filter((kind) => beyondTheBox(withFault(kind)));
    expect(excused.toSorted()).toEqual([
      'breakaway',
      'dead-x-step-tap',
      'dead-y-step-tap',
      'hand-on-trigger',
      'latching-trigger',
      'lost-steps',
      'reversed-direction',
      'unpowered-axis',
      'welded-relay',
    ]);
    expect(BEYOND_THE_BOX).toHaveLength(3);
  });

  it('is a fault that lasts long enough for Z or the sheet to go from cut height to contact, and no shorter one', () => {
    // 1.45 mm: Z at 40 mm/s with half of its steps, or the wrong way; a sheet of 0.1 under a table of 100 mm/s.
    const lasting = (kind: FaultKind, for_s: number, value = 0) => {
      const { machine } = setup;
      const world = withValues(setup.world, { 'sheet.tilt_x': 0.1, 'sheet.wave_mm': 0 });
      return beyondTheBox({ ...sound, machine, world: { ...world, faults: [{ kind, at_s: 1, for_s, value }] } });
    };
    expect([lasting('lost-steps', 0.072, 0.5), lasting('lost-steps', 0.073, 0.5)]).toEqual([false, true]);
    expect([lasting('reversed-direction', 0.018), lasting('reversed-direction', 0.019)]).toEqual([false, true]);
    for (const kind of ['latching-trigger', 'welded-relay', 'dead-x-step-tap', 'dead-y-step-tap'] as const)
      expect([lasting(kind, 0.144), lasting(kind, 0.146)], kind).toEqual([false, true]);
  });

  it('is a hold input that is turned on over a sheet that rises by cut height on its path, and no other line of the operator', () => {
    const acting = (line: 'hold' | 'reset', on: boolean, tilt_x: number) =>
      beyondTheBox({ ...leaning(tilt_x), machine: setup.machine, operator: [{ line, at_s: 1, on }] });
    // 1.45 mm on 20 mm.
    expect([acting('hold', true, 0.074), acting('hold', true, 0.072), acting('hold', false, 0.074)]).toEqual([
      true,
      false,
      false,
    ]);
    expect([acting('reset', true, 0.074), beyondTheBox(sound)]).toEqual([false, false]);
  });

  it('takes the vibration of the sheet off what is left to contact', () => {
    const world = withValues(setup.world, { 'sheet.tilt_x': 0.072, 'sheet.wave_mm': 0, 'sheet.vibration_mm': 0.1 });
    expect(beyondTheBox({ ...sound, world, operator: [{ line: 'hold', at_s: 1, on: true }] })).toBe(true);
  });

  it('is a sheet that rises faster than the motor climbs: 100 mm/s over 0.05 mm/mm against 5 mm/s', () => {
    expect([beyondTheBox(leaning(0.049)), beyondTheBox(leaning(0.051))]).toEqual([false, true]);
  });

  it('adds up plane, bow, wave and bump', () => {
    const bump = { bump_mm: 1, bump_size_mm: 50 };
    const values = { tilt_x: 0.03, tilt_y: 0.04, bow_mm: -3, wave_mm: 1, wave_length_mm: 100, ...bump };
    const paths = Object.fromEntries(Object.entries(values).map(([name, value]) => [`sheet.${name}`, value]));
    // 0.05 for the plane, 4·3/600 for the bow, 2π/100 for the wave, 16/(3√3)/50 for the bump.
    expect(steepestSheet({ ...setup, world: withValues(setup.world, paths) })).toBeCloseTo(
      0.05 + 0.02 + 0.0628 + 0.0616,
      4,
    );
  });

  it('holds for at most one in a hundred sheets, arcs and tables that are drawn', () => {
    const ranges = { ...rangesAround(setup), fault_chance: 0, second_fault_chance: 0, operator_chance: 0 };
    let excused = 0;
    for (let index = 0; index < 4000; index++) {
      const one = caseSetup(setup, caseOf({ setup, ranges, duration_s: 12 }, 1, index));
      if (beyondTheBox({ ...one, operator: [] })) excused++;
    }
    expect(excused).toBeLessThanOrEqual(40);
  });

  it('excuses contact, and nothing else that is broken at the same time', () => {
    const broken = (name: string) => ({ ...RESULT, name, kept: false, margin: -1 });
    const results = [broken('no-contact'), broken('trigger-path')];
    expect(brokenRequirements(results, withFault('unpowered-axis'))).toEqual({
      broken: ['trigger-path'],
      beyond: ['no-contact'],
    });
    expect(brokenRequirements(results, sound)).toEqual({ broken: ['no-contact', 'trigger-path'], beyond: [] });
  });
});

const RESULT = {
  number: 1,
  kind: 'requirement',
  statement: '',
  unit: 'mm',
  worst_tick: null,
  checked: 1,
  checked_unit: 'times',
} as const;
