import { describe, expect, it } from 'vitest';
import { applyChanges } from '../../../sim/run/advice/index.js';
import { exampleSetup, type Scenario } from '../../../sim/run/setup/index.js';
import { refused } from '../setup/refused.js';

const cut = (text: string, change: Partial<Scenario> = {}): Scenario => ({
  seed: 1,
  setup: exampleSetup(),
  program: { name: 'hinge.nc', text },
  ...change,
});
const textOf = (scenario: Scenario, path: string, to: number | string) =>
  applyChanges(scenario, [{ path, from: 100, to }]).program.text;

describe('a change of a cut', () => {
  it('sets values of box, machine and world by their paths, and leaves the cut of before alone', () => {
    const before = cut('M3');
    const after = applyChanges(before, [
      { path: 'box.gain_p_per_s', from: 22, to: 11 },
      { path: 'machine.axis.backlash_um', from: 10, to: 0 },
      { path: 'world.noise.white_V_rms_per_tick', from: 1, to: 0.4 },
    ]);
    expect(after.setup.box.gain_p_per_s).toBe(11);
    expect(after.setup.machine.axis.backlash_um).toBe(0);
    expect(after.setup.world.noise.white_V_rms_per_tick).toBe(0.4);
    expect(before.setup).toEqual(exampleSetup());
  });

  it('refuses what the box would refuse', () => {
    const low = [{ path: 'box.arc_high_V', from: 190, to: 100 }];
    expect(refused(() => applyChanges(cut('M3'), low)).code).toBe('setup-contradiction');
  });

  it('changes every feed, and no F in a comment', () => {
    const text = 'G1X10F3000\nG1 Y5 f 600.5 (F100 stays)\nF.5 ; F200 stays\nG0 X1';
    expect(textOf(cut(text), 'program.feed', 50)).toBe(
      'G1X10F1500\nG1 Y5 F300.25 (F100 stays)\nF0.25 ; F200 stays\nG0 X1',
    );
  });

  it('takes out waits with the torch on, and no other', () => {
    const text = 'G4 P1\nM3\nG1 X5\nN40 G04 P9\nG1 X9\nM5\nG4 P2\nM2';
    expect(textOf(cut(text), 'program.waits', 'none')).toBe('G4 P1\nM3\nG1 X5\nG1 X9\nM5\nG4 P2\nM2');
  });

  it('takes out one kind of fault, or what the operator did', () => {
    const { setup } = cut('M3');
    const faults = [
      { kind: 'open-lead', at_s: 3 },
      { kind: 'breakaway', at_s: 9 },
    ] as const;
    const broken = cut('M3', {
      setup: { ...setup, world: { ...setup.world, faults } },
      operator: [{ at_s: 2, line: 'key', on: false }],
    });
    const mended = applyChanges(broken, [{ path: 'world.faults.open-lead', from: 'from 3 s', to: 'none' }]);
    expect(mended.setup.world.faults).toEqual([faults[1]]);
    expect(mended.operator).toEqual(broken.operator);
    expect(applyChanges(broken, [{ path: 'operator', from: 'key', to: 'none' }]).operator).toBeUndefined();
  });
});
