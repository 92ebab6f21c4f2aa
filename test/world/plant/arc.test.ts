import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

describe('the arc', () => {
  it('stands at the stated voltage at cut standoff and nominal feed', () => {
    const rig = new Rig({ world: { 'arc.feed_effect_V': 8 } }).strike();
    rig.move(200, 100, 50);
    // After 2 s, 40 time constants of the feed effect, nothing of the start is left.
    expect(rig.world.cells.arc.true_V).toBeCloseTo(118, 6);
  });

  it('rises with its length by the slope', () => {
    const low = new Rig({ machine: { 'axis.z_start_mm': 1.5 } }).strike().wait(10).world.cells.arc.true_V;
    const high = new Rig({ machine: { 'axis.z_start_mm': 3.5 } }).strike().wait(10).world.cells.arc.true_V;
    expect(high - low).toBeCloseTo(2 * 4, 9);
  });

  it('rises ever less when it is long', () => {
    const volts = [10, 15, 20].map((z_mm) => {
      const rig = new Rig({
        machine: { 'axis.z_start_mm': z_mm },
        world: { 'arc.transfer_height_mm': 20, 'arc.reach_mm': 60 },
      });
      return rig.strike().wait(5).world.cells.arc.true_V;
    }) as [number, number, number];
    // 5 mm past 10 count for 5/(1 + 5/10) = 3.333, 10 mm for 10/(1 + 1) = 5.
    expect(volts[1] - volts[0]).toBeCloseTo(4 * 3.3333, 3);
    expect(volts[2] - volts[0]).toBeCloseTo(4 * 5, 6);
  });

  it('rises by the feed effect when the feed falls, with its time constant', () => {
    const rig = new Rig({ world: { 'arc.feed_effect_V': 8, 'arc.feed_effect_ms': 50 } }).strike();
    rig.move(300, 100, 50);
    const before_V = rig.world.cells.arc.true_V;
    const rise_V: number[] = [];
    rig.move(310, 100, 12.5, () => rise_V.push(rig.world.cells.arc.true_V - before_V));
    // A quarter of the nominal feed is three quarters of the effect; after one time constant 1 − 1/e of it.
    expect(rise_V[49]).toBeCloseTo(6 * (1 - Math.exp(-1)), 6);
    expect(rise_V.at(-1)).toBeCloseTo(6, 5);
  });

  it('answers to the standoff by the slope at twice the nominal feed too, however large the feed effect', () => {
    // 16 V at 4 V/mm are 4 mm, more than the standoff.
    const volts = [1.5, 2.5].map((z_mm) => {
      const machine = { 'axis.z_start_mm': z_mm };
      const rig = new Rig({ machine, world: { 'arc.feed_effect_V': 16 } }).strike();
      rig.move(300, 100, 100);
      return rig.world.cells.arc.true_V;
    }) as [number, number];
    expect(volts[0]).toBeCloseTo(118 - 16, 1);
    expect(volts[1] - volts[0]).toBeCloseTo(4, 6);
  });

  it('carries the excess of the pierce, which decays with its time constant', () => {
    const rig = new Rig({ world: { 'arc.pierce_excess_V': 30, 'arc.pierce_decay_ms': 100 } }).strike();
    expect(rig.world.cells.arc.true_V).toBeCloseTo(118 + 30, 9);
    rig.wait(100);
    expect(rig.world.cells.arc.true_V).toBeCloseTo(118 + 30 * Math.exp(-1), 6);
  });

  it('spatters during the pierce, and no longer after it', () => {
    const rig = new Rig({ world: { 'arc.spatter_V_rms': 4, 'arc.pierce_decay_ms': 100 } }).strike();
    const early: number[] = [];
    const late: number[] = [];
    rig.wait(30, 0, () => early.push(rig.world.cells.arc.true_V - 118));
    rig.wait(2000).wait(30, 0, () => late.push(rig.world.cells.arc.true_V - 118));
    const size = Math.sqrt(early.reduce((sum, value) => sum + value * value, 0) / early.length);
    // 30 draws of an rms that falls from 4 to 3 V: half and double are far outside chance.
    expect(size).toBeGreaterThan(1.7);
    expect(size).toBeLessThan(7);
    expect(Math.max(...late.map(Math.abs))).toBe(0);
  });

  it('wears its electrode by starts and by minutes', () => {
    const rig = new Rig({ world: { 'arc.wear_V_per_start': 0.5, 'arc.wear_V_per_min': 3 } }).strike();
    rig.wait(60_000);
    expect(rig.world.cells.arc.true_V).toBeCloseTo(118 + 0.5 + 3, 6);
    rig.trigger = 0;
    rig.wait(1000).strike().wait(1);
    expect(rig.world.cells.arc.starts).toBe(2);
    expect(rig.world.cells.arc.true_V).toBeCloseTo(118 + 2 * 0.5 + 3, 2);
  });

  it('begins at no load, goes on as pilot arc and transfers after the strike delay', () => {
    const rig = new Rig();
    rig.trigger = 1;
    const seen: number[] = [];
    rig.wait(200, 0, () => seen.push(rig.world.cells.arc.true_V));
    expect(seen.slice(0, 30)).toEqual(Array(30).fill(280));
    expect(seen.slice(30, 150)).toEqual(Array(120).fill(140));
    expect(seen[150]).toBeCloseTo(118, 9);
    expect(rig.world.cells.arc.burning).toBe(1);
    expect(rig.world.cells.arc.starts).toBe(1);
  });

  it('stays a pilot arc above the transfer height', () => {
    const rig = new Rig({ machine: { 'axis.z_start_mm': 5.1 } });
    rig.trigger = 1;
    rig.wait(2000);
    expect([rig.world.cells.arc.burning, rig.world.cells.arc.true_V]).toEqual([0, 140]);
    expect(new Rig({ machine: { 'axis.z_start_mm': 4.9 } }).strike().world.cells.arc.burning).toBe(1);
  });

  it('stays a pilot arc past the edge of the sheet', () => {
    const rig = new Rig({ x_mm: -5 });
    rig.trigger = 1;
    rig.wait(2000);
    expect([rig.world.cells.arc.burning, rig.world.cells.plate.off_sheet]).toEqual([0, 1]);
  });

  it('fails to transfer as often as the chance says', () => {
    const started = Array.from({ length: 200 }, (_, seed) => {
      const rig = new Rig({ seed, world: { 'arc.strike_fail_chance': 0.3 } });
      rig.trigger = 1;
      return rig.wait(200).world.cells.arc.burning;
    });
    // 200 draws at 0.7: standard deviation 6.5; four of them on either side.
    expect(started.reduce((sum, one) => sum + one, 0)).toBeGreaterThan(140 - 26);
    expect(started.reduce((sum, one) => sum + one, 0)).toBeLessThan(140 + 26);
  });

  it('goes out within milliseconds of the trigger, and the voltage decays', () => {
    const rig = new Rig({ world: { 'arc.off_ms': 2, 'arc.fall_ms': 30 } }).strike().wait(100);
    rig.trigger = 0;
    rig.wait(2);
    expect(rig.world.cells.arc.burning).toBe(1);
    rig.wait(1);
    expect(rig.world.cells.arc.burning).toBe(0);
    rig.wait(29);
    expect(rig.world.cells.arc.true_V).toBeCloseTo(118 * Math.exp(-1), 6);
    rig.wait(1000);
    expect(rig.world.cells.arc.true_V).toBe(0);
  });

  it('goes out when it is drawn beyond its reach, and stays out while the trigger is on', () => {
    const rig = new Rig({ world: { 'arc.reach_mm': 6 } }).strike();
    // 4 steps a millisecond are 10 mm/s: 4.6 mm more after 460 ms.
    rig.wait(440, 4);
    expect(rig.world.cells.arc.burning).toBe(1);
    rig.wait(60, 4);
    expect(rig.world.cells.arc.burning).toBe(0);
    rig.wait(500, -4);
    expect([rig.world.cells.head.standoff_mm < 5, rig.world.cells.arc.burning, rig.world.cells.arc.true_V < 1]).toEqual(
      [true, 0, true],
    );
  });

  it('is followed by a new pilot arc on a supply that restrikes', () => {
    const rig = new Rig({ machine: { 'supply.restrikes': true }, world: { 'arc.reach_mm': 6 } }).strike();
    rig.wait(500, 4).wait(500, -4).wait(200);
    expect([rig.world.cells.arc.burning, rig.world.cells.arc.starts]).toEqual([1, 2]);
  });
});
