import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

const high = { 'axis.z_start_mm': 30 };

describe('the Z axis', () => {
  it('moves by one step of its pitch for each step, up for positive ones', () => {
    const rig = new Rig({ machine: high });
    rig.wait(100, 4);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(31, 9);
    rig.wait(1).wait(200, -4);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(29, 9);
    expect(rig.world.cells.axis.lost_steps).toBe(0);
  });

  it('follows a ramp within its limits without loss', () => {
    const rig = new Rig({ machine: high });
    // One step a tick more is 2.5 mm/s more in a millisecond, the motor's 2500 mm/s²; 24 are its 60 mm/s.
    for (let steps = 1; steps <= 24; steps++) rig.wait(1, steps);
    for (let steps = 23; steps >= 0; steps--) rig.wait(1, steps);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(30 + (24 * 24) / 400, 9);
    expect(rig.world.cells.axis.lost_steps).toBe(0);
  });

  it('loses the steps of too sudden a start', () => {
    const rig = new Rig({ machine: high });
    // 8 mm/s at once and 2.5 in the millisecond are 4.2 steps: four of ten are made.
    rig.wait(1, 10);
    expect(rig.world.cells.axis.lost_steps).toBe(6);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(30 + 4 / 400, 9);
  });

  it('overruns on too sudden a stop', () => {
    const rig = new Rig({ machine: high });
    for (let steps = 1; steps <= 20; steps++) rig.wait(1, steps);
    const stopped_mm = rig.world.cells.head.torch_mm;
    rig.wait(10, 0);
    // From 20 steps a tick it can only come down by 4 a tick: 16, 12, 8, 4, 0.
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(stopped_mm + 40 / 400, 9);
    expect(rig.world.cells.axis.lost_steps).toBe(40);
  });

  it('never goes faster than its motor can', () => {
    const rig = new Rig({ machine: { 'axis.z_start_mm': 0, 'head.breakaway_mm': 20 } });
    for (let steps = 1; steps <= 40; steps++) rig.wait(1, steps);
    const before_mm = rig.world.cells.axis.carriage_mm;
    rig.wait(1, 40);
    expect(rig.world.cells.axis.carriage_mm - before_mm).toBeCloseTo(24 / 400, 9);
  });

  it('has play when it reverses', () => {
    const rig = new Rig({ machine: { ...high, 'axis.backlash_um': 100 } });
    rig.wait(100, 4);
    const before_mm = rig.world.cells.head.torch_mm;
    rig.wait(1).wait(10, -4);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(before_mm, 9);
    rig.wait(10, -4);
    expect(before_mm - rig.world.cells.head.torch_mm).toBeCloseTo(0.1, 9);
  });

  it('stops at its ends, losing the steps, and closes the top switch before', () => {
    const rig = new Rig({ machine: { 'axis.z_start_mm': 59, 'axis.z_top_mm': 60, 'axis.overtravel_mm': 2 } });
    expect(rig.world.cells.wires.top).toBe(0);
    rig.wait(99, 4);
    expect(rig.world.cells.wires.top).toBe(0);
    rig.wait(2, 4);
    expect(rig.world.cells.wires.top).toBe(1);
    rig.wait(400, 4);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(62, 9);
    expect(rig.world.cells.axis.lost_steps).toBe(501 * 4 - 3 * 400);
  });

  it('stops at the bottom', () => {
    const rig = new Rig({ x_mm: -50, machine: { 'axis.z_start_mm': 12, 'axis.z_top_mm': 20, 'axis.travel_mm': 20 } });
    rig.wait(2000, -4);
    expect(rig.world.cells.axis.carriage_mm).toBeCloseTo(0, 9);
  });

  it('does not move while the box does not own it, and counts what was ignored', () => {
    const rig = new Rig({ machine: high });
    rig.owned = 0;
    rig.wait(10, -4).wait(5, 3);
    expect([
      rig.world.cells.head.torch_mm,
      rig.world.cells.axis.ignored_steps,
      rig.world.cells.axis.lost_steps,
    ]).toEqual([30, 55, 0]);
  });

  it('loses the stated share of its steps with the fault lost-steps', () => {
    const rig = new Rig({ machine: high, faults: [{ kind: 'lost-steps', at_s: 0, value: 0.25 }] });
    rig.wait(100, 4);
    expect(rig.world.cells.axis.lost_steps).toBe(100);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(30 + 300 / 400, 9);
  });

  it('goes the wrong way with the fault reversed-direction, while it lasts', () => {
    const rig = new Rig({ machine: high, faults: [{ kind: 'reversed-direction', at_s: 0.011, for_s: 0.01 }] });
    rig.wait(10, 4).wait(10, 4).wait(10, 4);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(30 + (40 - 40 + 40) / 400, 9);
  });

  it('sinks at its speed with the fault unpowered-axis until it rests', () => {
    const rig = new Rig({ machine: high, faults: [{ kind: 'unpowered-axis', at_s: 0.1 }] });
    rig.wait(99);
    expect(rig.world.cells.head.torch_mm).toBe(30);
    rig.wait(100, 4);
    expect(rig.world.cells.head.torch_mm).toBeCloseTo(30 - 3, 6);
    rig.wait(3000);
    expect([rig.world.cells.head.torch_mm, rig.world.cells.head.standoff_mm]).toEqual([0, 0]);
    const locked = new Rig({
      machine: { ...high, 'axis.fall_mm_s': 0 },
      faults: [{ kind: 'unpowered-axis', at_s: 0 }],
    });
    expect(locked.wait(1000, -4).world.cells.head.torch_mm).toBe(30);
  });
});
