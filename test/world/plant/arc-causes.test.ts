import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

const WEAR = { 'arc.wear_V_per_start': 0.05, 'arc.wear_V_per_min': 0.25 };
/** Voltage of the first arc, half a second old. */
const first_V = (world: Record<string, number>) => new Rig({ world }).strike().wait(500).world.cells.arc.true_V;

describe('an electrode that was used before', () => {
  it('adds its starts and its minutes of arc to the voltage', () => {
    const used = { 'arc.used_starts': 100, 'arc.used_min': 12 };
    expect(first_V({ ...WEAR, ...used }) - first_V(WEAR)).toBeCloseTo(100 * 0.05 + 12 * 0.25, 9);
    expect(first_V(used)).toBe(first_V({}));
  });
});

describe('new consumables', () => {
  const used = { ...WEAR, 'arc.used_starts': 100 };

  it('are put in when the arc is out: no wear, and a voltage that differs by the value', () => {
    const rig = new Rig({ world: used, faults: [{ kind: 'new-consumables', at_s: 1, value: -4 }] }).strike();
    rig.wait(1500);
    const { arc } = rig.world.cells;
    const worn_V = arc.true_V;
    expect(arc.used_V).toBe(5);
    rig.trigger = 0;
    rig.wait(300).strike().wait(1500);
    // The 5 V of before are gone; both arcs are their electrode's first, and as old.
    expect(arc.true_V - worn_V).toBeCloseTo(-4 - 5, 2);
    expect(arc.starts).toBe(1);
  });

  it('come once, however long the fault lasts', () => {
    const faults = [{ kind: 'new-consumables', at_s: 0.1, value: 2 } as const, { kind: 'late-tick', at_s: 2 } as const];
    const rig = new Rig({ world: used, faults }).wait(300).strike().wait(3000);
    rig.trigger = 0;
    rig.wait(300).strike();
    expect(rig.world.cells.arc.starts).toBe(2);
  });
});

describe('a contact start', () => {
  it('leaves no voltage to the work from the no-load voltage until the electrode has left the nozzle', () => {
    const rig = new Rig({ world: { 'arc.contact_start_ms': 80, 'arc.no_load_ms': 30, 'arc.strike_delay_ms': 60 } });
    const seen: number[] = [];
    rig.trigger = 1;
    rig.wait(200, 0, () => seen.push(rig.world.cells.arc.true_V));
    expect(seen.filter((volts) => volts === 280)).toHaveLength(30);
    expect(seen.filter((volts) => volts === 0)).toHaveLength(80);
    // The least time to the transfer is over by then: the arc burns as soon as the electrode is free.
    expect(seen[110]).toBeCloseTo(118, 0);
  });
});

describe('double arcs', () => {
  it('lower the voltage by the stated drop, as often and as long as stated', () => {
    const world = { 'arc.double_arc_V': 25, 'arc.double_arcs_per_s': 2, 'arc.double_arc_ms': 15 };
    const rig = new Rig({ world }).strike().wait(300);
    const { arc } = rig.world.cells;
    const whole_V = first_V({});
    let low_ms = 0;
    let times = 0;
    let before = false;
    rig.wait(60_000, 0, () => {
      const low = arc.true_V < whole_V - 12;
      if (low) {
        expect(arc.true_V).toBeCloseTo(whole_V - 25, 9);
        low_ms++;
        if (!before) times++;
      }
      before = low;
    });
    // 120 are expected, ±11; one within another goes on with it.
    expect(times).toBeGreaterThan(85);
    expect(times).toBeLessThan(150);
    expect(low_ms / times).toBeGreaterThan(14.5);
    expect(low_ms / times).toBeLessThan(17);
  });
});
