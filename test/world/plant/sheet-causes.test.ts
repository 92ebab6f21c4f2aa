import { describe, expect, it } from 'vitest';
import { Rig } from './rig.js';

describe('bumps and dents', () => {
  const BUMPS = { 'sheet.bump_mm': 0.8, 'sheet.bump_size_mm': 60, 'sheet.bump_pitch_mm': 80 };
  /** Heights along X, every 0.1 mm, through the middle of a row of squares. */
  function heights(world: Record<string, number>): number[] {
    const rig = new Rig({ world, x_mm: 10 });
    const { plate } = rig.world.cells;
    rig.y_mm = plate.bump_y_mm + 1.5 * plate.bump_pitch_mm;
    const found: number[] = [];
    rig.move(410, rig.y_mm, 100, () => found.push(plate.surface_mm));
    return found;
  }

  it('lie by turns, as high and as deep as stated, each as wide as stated, with level sheet between', () => {
    const found = heights(BUMPS);
    expect(Math.max(...found)).toBeCloseTo(0.8, 2);
    expect(Math.min(...found)).toBeCloseTo(-0.8, 2);
    // Of 400 mm, five squares of 80: 60 mm of each are bump or dent, the tangent's error aside.
    const level = found.filter((height) => Math.abs(height) < 1e-9).length / 10;
    expect(level).toBeGreaterThan(90);
    expect(level).toBeLessThan(115);
  });

  it('rise nowhere steeper than 1.54 heights over their radius', () => {
    const found = heights(BUMPS);
    const steepest = Math.max(...found.slice(1).map((height, at) => Math.abs(height - found[at]) / 0.1));
    expect(steepest).toBeGreaterThan((0.95 * 1.54 * 0.8) / 30);
    // A tangent plane gives way to the next by up to 0.001 mm.
    expect(steepest).toBeLessThan((1.54 * 0.8) / 30 + 0.02);
  });

  it('lie elsewhere with another seed', () => {
    const places = [1, 2].map((seed) => new Rig({ world: BUMPS, seed }).world.cells.plate.bump_x_mm);
    expect(places[0]).not.toBe(places[1]);
  });
});

describe('the melt of a pierce', () => {
  it('heaps up where the arc begins, 63 % in 100 ms, and is left behind beyond its radius', () => {
    const rig = new Rig({ world: { 'sheet.puddle_mm': 0.4 } }).strike();
    const { plate } = rig.world.cells;
    expect(plate.surface_mm).toBe(0);
    rig.wait(100);
    expect(plate.surface_mm / 0.4).toBeCloseTo(1 - Math.exp(-1), 1);
    rig.wait(900).move(101.25, 100, 50);
    expect(plate.surface_mm).toBeCloseTo(0.4 * 0.75 ** 2, 3);
    rig.move(102.5, 100, 50);
    expect(plate.surface_mm).toBe(0);
  });

  it('begins again with the next arc, where that begins', () => {
    const rig = new Rig({ world: { 'sheet.puddle_mm': 0.4 } }).strike().wait(1000);
    rig.trigger = 0;
    rig.wait(300).move(150, 100, 100);
    const { plate } = rig.world.cells;
    expect(plate.surface_mm).toBe(0);
    rig.strike();
    expect(plate.heaped_mm).toBe(0);
    rig.wait(1000);
    expect(plate.surface_mm).toBeCloseTo(0.4, 3);
  });
});

describe('a part that is cut free', () => {
  /** Arc length over a cut there and back; `back` mm of it along the own kerf. */
  function lengths(back_mm: number, drop_mm: number): number {
    const rig = new Rig({ world: { 'sheet.drop_mm': drop_mm, 'arc.crossing_V': 0 } }).strike();
    rig.move(130, 100, 50).move(130 - back_mm, 100, 50);
    return rig.world.cells.arc.length_mm;
  }

  it('sinks after two kerf widths along the own cut, and the arc gets as much longer', () => {
    // What is three kerf widths old has entered the map: the way back meets it after some 4.5 mm.
    expect(lengths(20, 2) - lengths(20, 0)).toBeCloseTo(2, 6);
    expect(lengths(3, 2)).toBe(lengths(3, 0));
  });

  it('does not sink where a kerf is crossed', () => {
    const rig = new Rig({ world: { 'sheet.drop_mm': 2, 'arc.crossing_V': 0 }, x_mm: 80 }).strike();
    rig.move(120, 100, 50).move(120, 120, 50).move(100, 120, 50).move(100, 80, 50);
    expect(rig.world.cells.kerf.dropped_mm).toBe(0);
  });

  it('is left where the cut goes on through whole metal: the arc roots there', () => {
    const rig = new Rig({ world: { 'sheet.drop_mm': 2, 'arc.crossing_V': 0 } }).strike();
    rig.move(130, 100, 50).move(110, 100, 50);
    expect(rig.world.cells.kerf.dropped_mm).toBe(2);
    rig.move(110, 100.5, 50);
    expect(rig.world.cells.kerf.dropped_mm).toBeGreaterThan(0);
    rig.move(110, 120, 50);
    expect(rig.world.cells.kerf.dropped_mm).toBe(0);
  });

  it('is forgotten when the arc goes out', () => {
    const rig = new Rig({ world: { 'sheet.drop_mm': 2 } }).strike();
    rig.move(130, 100, 50).move(110, 100, 50);
    expect(rig.world.cells.kerf.dropped_mm).toBe(2);
    rig.trigger = 0;
    rig.wait(200);
    expect(rig.world.cells.kerf.dropped_mm).toBe(0);
  });
});
