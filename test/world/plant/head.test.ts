import { describe, expect, it } from 'vitest';
import { Rig, type RigOptions } from './rig.js';

/** Carriage heights at which the switch closes on the way down and opens on the way up, at 2.5 mm/s. */
function touchOff(options: RigOptions): { rig: Rig; closed_mm: number; opened_mm: number } {
  const rig = new Rig({ ...options, machine: { 'axis.z_start_mm': 2, ...options.machine } });
  let closed_mm = Number.NaN;
  for (let n = 0; n < 3000 && rig.world.cells.wires.touch === 0; n++) rig.wait(1, -1);
  if (rig.world.cells.wires.touch === 1) closed_mm = rig.world.cells.axis.carriage_mm;
  rig.wait(300);
  for (let n = 0; n < 3000 && rig.world.cells.wires.touch === 1; n++) rig.wait(1, 1);
  return { rig, closed_mm, opened_mm: rig.world.cells.axis.carriage_mm };
}

const STEP_MM = 1 / 400;

describe('the floating head', () => {
  it('closes its switch at the float travel below a stiff sheet and opens it at the surface', () => {
    const { closed_mm, opened_mm } = touchOff({ machine: { 'head.float_travel_mm': 0.8 } });
    expect(Math.abs(closed_mm + 0.8)).toBeLessThanOrEqual(STEP_MM);
    expect(Math.abs(opened_mm)).toBeLessThanOrEqual(STEP_MM);
  });

  it('presses a springy sheet down between slats: the switch closes later but opens at the same height', () => {
    // 0.04 mm/N under 5 N are 0.2 mm half-way between slats (x = 50), nothing on one (x = 100).
    const world = { 'sheet.compliance_mm_per_N': 0.04, 'sheet.slat_pitch_mm': 100 };
    const between = touchOff({ world, x_mm: 50 });
    const over = touchOff({ world, x_mm: 100 });
    const quarter = touchOff({ world, x_mm: 25 });
    expect(over.closed_mm - between.closed_mm).toBeCloseTo(0.2, 2);
    expect(over.closed_mm - quarter.closed_mm).toBeCloseTo(0.15, 2);
    expect(Math.abs(between.opened_mm - over.opened_mm)).toBeLessThanOrEqual(STEP_MM);
  });

  it('rests on the sheet while the carriage goes on down', () => {
    const rig = new Rig({ world: { 'sheet.compliance_mm_per_N': 0.04 }, x_mm: 50 }).wait(700, -1);
    expect(rig.world.cells.axis.carriage_mm).toBeCloseTo(-0.25, 9);
    expect([rig.world.cells.head.torch_mm, rig.world.cells.head.plate_mm]).toEqual([-0.2, -0.2]);
    expect(rig.world.cells.head.standoff_mm).toBe(0);
  });

  it('bounces for its time after a change, and then keeps its state', () => {
    const rig = new Rig({ seed: 3, machine: { 'head.bounce_ms': 20 } });
    for (let n = 0; n < 2000 && rig.world.cells.wires.touch === 0; n++) rig.wait(1, -1);
    const states: number[] = [];
    rig.wait(60, 0, () => states.push(rig.world.cells.wires.touch));
    expect(states.slice(0, 19)).toContain(0);
    expect(states.slice(0, 19)).toContain(1);
    expect(states.slice(19)).toEqual(Array(41).fill(1));
  });

  it('does not count a touch-off as a contact', () => {
    expect(touchOff({}).rig.world.cells.wires.contacts).toBe(0);
  });

  it('counts one contact for each episode of touching with the arc on', () => {
    const rig = new Rig().strike();
    rig.wait(700, -1).wait(100).wait(300, 1);
    expect(rig.world.cells.wires.contacts).toBe(1);
    rig.wait(400, -1);
    expect(rig.world.cells.wires.contacts).toBe(2);
  });

  it('counts a contact when X or Y drags the touching tip', () => {
    const rig = new Rig({ machine: { 'axis.z_start_mm': -0.5 } }).wait(10);
    expect(rig.world.cells.wires.contacts).toBe(0);
    expect(rig.move(110, 100, 50).world.cells.wires.contacts).toBe(1);
  });

  it('is knocked out of its holder by a sideways collision with a raised offcut', () => {
    // 5 mm less 1.5 mm of standoff: deeper than the breakaway's 2 mm, not as deep as the float's 6 mm.
    const world = { 'sheet.offcut_height_mm': 5, 'sheet.offcut_x_mm': 150, 'sheet.offcut_y_mm': 90 };
    const rig = new Rig({ world, x_mm: 200 });
    rig.move(182, 100, 50);
    expect([rig.world.cells.wires.breakaway, rig.world.cells.wires.contacts]).toEqual([1, 0]);
    rig.move(170, 100, 50);
    expect([rig.world.cells.wires.breakaway, rig.world.cells.wires.contacts]).toEqual([0, 1]);
    rig.move(120, 100, 50);
    expect(rig.world.cells.wires.breakaway).toBe(0);
  });

  it('is knocked out when the float is used up', () => {
    const rig = new Rig({ machine: { 'head.float_max_mm': 4 } });
    rig.wait(2190, -1);
    expect(rig.world.cells.wires.breakaway).toBe(1);
    rig.wait(20, -1);
    expect(rig.world.cells.wires.breakaway).toBe(0);
  });

  it('meets the slats, one thickness lower, past the edge of the sheet', () => {
    const { closed_mm } = touchOff({ x_mm: -10, machine: { 'table.sheet_thickness_mm': 3 } });
    expect(Math.abs(closed_mm + 3.8)).toBeLessThanOrEqual(STEP_MM);
  });

  it('never closes its switch with the fault touch-never-closes', () => {
    const { rig, closed_mm } = touchOff({ faults: [{ kind: 'touch-never-closes', at_s: 0 }] });
    expect([Number.isNaN(closed_mm), rig.world.cells.head.standoff_mm]).toEqual([true, 0]);
  });

  it('keeps one state with the fault stuck-touch-switch', () => {
    expect(new Rig({ faults: [{ kind: 'stuck-touch-switch', at_s: 0 }] }).wait(5).world.cells.wires.touch).toBe(1);
    const open = touchOff({ faults: [{ kind: 'stuck-touch-switch', at_s: 0, value: 0 }] });
    expect(open.rig.world.cells.wires.touch).toBe(0);
  });

  it('leaves its holder with the fault breakaway, for good', () => {
    const rig = new Rig({ faults: [{ kind: 'breakaway', at_s: 0.01, for_s: 0.01 }] });
    expect(rig.wait(9).world.cells.wires.breakaway).toBe(1);
    expect(rig.wait(1).world.cells.wires.breakaway).toBe(0);
    expect(rig.wait(50).world.cells.wires.breakaway).toBe(0);
  });
});
