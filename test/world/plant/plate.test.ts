import { describe, expect, it } from 'vitest';
import { Rig, type RigOptions } from './rig.js';

/** The true surface along X at one Y, by a torch that hangs high above it. */
function profile(options: RigOptions, from_mm: number, to_mm: number, y_mm = 100): Map<number, number> {
  const rig = new Rig({ ...options, x_mm: from_mm, y_mm, machine: { 'axis.z_start_mm': 50, ...options.machine } });
  const heights = new Map<number, number>();
  rig.move(to_mm, y_mm, 100, () => heights.set(Math.round(rig.x_mm * 1000) / 1000, rig.world.cells.head.plate_mm));
  return heights;
}

describe('the sheet', () => {
  it('is flat at the datum with every cause off', () => {
    const heights = [...profile({}, 0, 600).values()];
    expect(Math.max(...heights.map(Math.abs))).toBe(0);
  });

  it('rises with its tilt along X and Y', () => {
    const world = { 'sheet.tilt_x': 0.02, 'sheet.tilt_y': -0.01 };
    expect(profile({ world }, 0, 500, 200).get(500)).toBeCloseTo(0.02 * 500 - 0.01 * 200, 9);
  });

  it('bows up in the middle', () => {
    const heights = profile({ world: { 'sheet.bow_mm': 3 } }, 0, 600);
    expect(heights.get(300)).toBeCloseTo(3, 3);
    expect(heights.get(600)).toBeCloseTo(0, 3);
  });

  it('waves with the stated amplitude, length, direction and phase', () => {
    const world = {
      'sheet.wave_mm': 2.5,
      'sheet.wave_length_mm': 200,
      'sheet.wave_direction_deg': 60,
      'sheet.wave_phase_from_seed': false,
      'sheet.wave_phase_turns': 0.1,
    };
    const heights = profile({ world }, 0, 600, 80);
    for (const [x_mm, height_mm] of heights) {
      const along_mm = x_mm * Math.cos(Math.PI / 3) + 80 * Math.sin(Math.PI / 3);
      // The polynomial sine errs by up to 3.95e-4 of the amplitude (measured), the tangent planes by 0.5 µm.
      expect(Math.abs(height_mm - 2.5 * Math.sin(2 * Math.PI * (along_mm / 200 + 0.1)))).toBeLessThan(
        2.5 * 3.95e-4 + 0.0005,
      );
    }
  });

  it('follows its formula on the steepest wave that the rows allow', () => {
    const world = {
      'sheet.wave_mm': 10,
      'sheet.wave_length_mm': 30,
      'sheet.wave_direction_deg': 0,
      'sheet.wave_phase_from_seed': false,
    };
    for (const [x_mm, height_mm] of profile({ world }, 0, 90)) {
      // As above, at this amplitude.
      expect(Math.abs(height_mm - 10 * Math.sin((2 * Math.PI * x_mm) / 30))).toBeLessThan(10 * 3.95e-4 + 0.0005);
    }
  });

  it('takes the phase of the wave from the seed when asked', () => {
    const world = { 'sheet.wave_mm': 2.5 };
    const heights = [1, 2, 3].map(
      (seed) => new Rig({ seed, world, machine: { 'axis.z_start_mm': 50 } }).wait(1).world.cells.head.plate_mm,
    );
    expect(new Set(heights).size).toBe(3);
    const again = new Rig({ seed: 2, world, machine: { 'axis.z_start_mm': 50 } }).wait(1).world.cells.head.plate_mm;
    expect(again).toBe(heights[1]);
  });

  it('grows under the burning arc at the stated rate, and hardly at a distance', () => {
    const world = { 'sheet.heat_growth_mm_per_s': 0.2 };
    // Between the nodes of the map of heat, which stand 20 mm apart.
    const rig = new Rig({ world, x_mm: 107, y_mm: 93 }).strike();
    const before_mm = rig.world.cells.head.plate_mm;
    rig.wait(3200);
    // Growth is laid down every 32 ms: 3200 of them are 0.64 mm, at most one portion more or less.
    expect(rig.world.cells.head.plate_mm - before_mm).toBeGreaterThan(0.64 - 0.0065);
    expect(rig.world.cells.head.plate_mm - before_mm).toBeLessThan(0.64 + 0.0065);
    rig.trigger = 0;
    rig.wait(500);
    const left_mm = rig.world.cells.head.plate_mm;
    rig.wait(2000);
    expect(rig.world.cells.head.plate_mm).toBe(left_mm);
    rig.move(200, 200, 100);
    expect(rig.world.cells.head.plate_mm).toBe(0);
  });

  it('carries a tipped-up offcut: a ramp from its low edge, a wall from its raised one', () => {
    const world = {
      'sheet.offcut_height_mm': 10,
      'sheet.offcut_x_mm': 300,
      'sheet.offcut_y_mm': 90,
      'sheet.offcut_size_mm': 30,
    };
    const heights = profile({ world }, 290, 340);
    expect(heights.get(299.9)).toBe(0);
    expect(heights.get(315)).toBeCloseTo(5, 6);
    expect(heights.get(330)).toBeCloseTo(10, 6);
    expect(heights.get(330.1)).toBe(0);
    expect(Math.max(...profile({ world }, 290, 340, 85).values())).toBe(0);
  });

  it('says when the torch is past its edge', () => {
    const rig = new Rig({ x_mm: 599 });
    expect(rig.wait(1).world.cells.plate.off_sheet).toBe(0);
    expect(rig.move(601, 100, 50).world.cells.plate.off_sheet).toBe(1);
    expect(rig.move(590, 100, 50).world.cells.plate.off_sheet).toBe(0);
    expect(rig.move(590, -1, 100).world.cells.plate.off_sheet).toBe(1);
  });
});
