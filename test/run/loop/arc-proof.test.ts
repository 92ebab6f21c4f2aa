// The loop over arcs and pilots of any voltage: what the box proves before it lets the table move.
import { describe, expect, it } from 'vitest';
import { type Changes, cut, STRAIGHT } from './cut.js';

const TRUTH = ['permit-over-arc', 'motion-over-arc', 'pierce-time', 'arc-on-one-spot', 'strike-time'];

/** A supply whose arc never transfers, and the voltage of its pilot. */
const overPilot = (pilot_V: number, more: Readonly<Record<string, number>> = {}): Changes => ({
  machine: { 'supply.pilot_V': pilot_V },
  world: { 'arc.strike_fail_chance': 1, ...more },
});

function expectNoMotion(changes: Changes): void {
  let path_mm = 0;
  const found = cut(STRAIGHT, changes, (block) => {
    path_mm = block.path_mm[block.count - 1];
  });
  expect(found).toMatchObject({ broken: [], figures: { starts: 0, contacts: 0 } });
  expect(['no-response', 'no-arc']).toContain(found.faults[0]);
  expect(path_mm).toBe(0);
  for (const name of TRUTH) expect(found.result(name), name).toMatchObject({ kept: true });
}

describe('a pilot that does not transfer', () => {
  it.each([110, 120, 130, 134, 136, 140, 150])('of %i V gets no permit', (pilot_V) =>
    expectNoMotion(overPilot(pilot_V)),
  );

  it.each([1, 2, 3, 4])('with jumps and wander gets no permit either, seed %i', (seed) =>
    expectNoMotion({
      ...overPilot(128, {
        'arc.pilot_jump_V': 10,
        'arc.pilot_jumps_per_s': 5,
        'arc.pilot_wander_V_rms': 1,
        'arc.pilot_wander_Hz': 2,
      }),
      seed,
    }),
  );

  it('over a lead that opens at times gets none', () =>
    expectNoMotion({
      faults: [{ kind: 'intermittent-contact', at_s: 3.8, value: 130 }],
      world: { 'arc.strike_fail_chance': 1 },
    }));
});

describe('an arc', () => {
  it.each([
    ['5 V more than told', { 'arc.voltage_at_cut_V': 123 }],
    ['12 V more than told', { 'arc.voltage_at_cut_V': 130 }],
    ['10 V less than told', { 'arc.voltage_at_cut_V': 108 }],
    ['2.5 V/mm', { 'arc.slope_V_per_mm': 2.5 }],
    ['7 V/mm', { 'arc.slope_V_per_mm': 7 }],
    ['a pilot that persists for 200 ms', { 'arc.pilot_persists_ms': 200 }],
    ['an excess that decays slowly', { 'arc.pierce_decay_ms': 250, 'arc.pierce_excess_V': 40 }],
  ])('of %s is proved in the first strike', (_, world) => {
    const found = cut(STRAIGHT, { world });
    expect(found.figures.starts).toBe(1);
    expect(found.figures.cut_length_mm).toBeGreaterThan(0);
    for (const name of TRUTH) expect(found.result(name), name).toMatchObject({ kept: true });
  });

  it('over a lead that opens at times is not believed too soon', () => {
    const found = cut(STRAIGHT, { faults: [{ kind: 'intermittent-contact', at_s: 3.8, value: 130 }] });
    for (const name of TRUTH) expect(found.result(name), name).toMatchObject({ kept: true });
  });

  it('of which the box is told a reversed Z after the touch-off is refused', () => {
    // As a crossed direction line would: Z goes down where it should go up.
    const found = cut(STRAIGHT, {
      world: { 'arc.slope_V_per_mm': 4 },
      faults: [{ kind: 'reversed-direction', at_s: 4 }],
    });
    expect(found.figures.cut_length_mm).toBe(0);
    expect(found.faults[0]).not.toBe('wrong-way');
  });
});
