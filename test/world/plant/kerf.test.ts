import { describe, expect, it } from 'vitest';
import { Rig, type RigOptions } from './rig.js';

/** Cut a line along X at y = 100, go around it with the arc out, and cut across it along Y at x = 150. */
function crossed(options: RigOptions): { rig: Rig; volts: number[]; places: number[]; flags: number[] } {
  const rig = new Rig(options).strike();
  rig.move(200, 100, 50);
  rig.trigger = 0;
  rig.wait(100).move(150, 80, 100).strike();
  const volts: number[] = [];
  const places: number[] = [];
  const flags: number[] = [];
  rig.move(150, 120, 50, () => {
    volts.push(rig.world.cells.arc.true_V);
    places.push(rig.y_mm);
    flags.push(rig.world.cells.arc.crossing);
  });
  return { rig, volts, places, flags };
}

describe('the metal already removed', () => {
  it('raises the voltage at a crossing by about the stated amount', () => {
    const { volts } = crossed({ world: { 'arc.crossing_V': 25 } });
    const rise_V = Math.max(...volts) - 118;
    // All of the front is over the 1.5 mm kerf for well over the arc's 2 ms, but not for ever.
    expect(rise_V).toBeGreaterThan(25 * 0.9);
    expect(rise_V).toBeLessThanOrEqual(25);
  });

  it('flags the crossing where the old kerf is, to a cell and a step of the map', () => {
    const { places, flags } = crossed({});
    const inside = places.filter((_, n) => flags[n] === 1);
    // The front, 0.75 mm ahead, enters the kerf at 99.25 and leaves it at 100.75; ±0.45 mm for the map.
    expect(Math.abs(Math.min(...inside) - 98.5)).toBeLessThan(0.45);
    expect(Math.max(...inside)).toBeGreaterThan(99.75);
    expect(Math.max(...inside)).toBeLessThan(101.2);
  });

  it('leaves the voltage alone when the crossing effect is off', () => {
    const { volts } = crossed({ world: { 'arc.crossing_V': 0 } });
    expect(Math.max(...volts)).toBeCloseTo(118, 9);
  });

  it('does not meet its own fresh kerf, neither straight on nor around corners', () => {
    const rig = new Rig({ world: { 'arc.crossing_V': 25 } }).strike();
    let most = 0;
    const look = () => {
      most = Math.max(most, rig.world.cells.arc.missing, rig.world.cells.arc.crossing);
    };
    rig.wait(500, 0, look).move(150, 100, 50, look).move(150, 130, 20, look).move(110, 140, 80, look);
    expect(most).toBe(0);
  });

  it('meets the beginning of the contour again when the contour closes', () => {
    const rig = new Rig().strike();
    rig.move(120, 100, 50).move(120, 120, 50).move(100, 120, 50);
    let crossings = 0;
    rig.move(100, 102, 50, () => {
      crossings += rig.world.cells.arc.crossing;
    });
    expect(crossings).toBe(0);
    rig.move(100, 98, 50, () => {
      crossings += rig.world.cells.arc.crossing;
    });
    expect(crossings).toBeGreaterThan(0);
  });

  it('is cut by the arc only: a torch that travels without arc leaves the sheet whole', () => {
    const rig = new Rig();
    rig.move(200, 100, 50).move(150, 80, 100).strike();
    let crossings = 0;
    rig.move(150, 120, 50, () => {
      crossings += rig.world.cells.arc.crossing;
    });
    expect(crossings).toBe(0);
  });

  it('is not cut by the pilot arc', () => {
    const rig = new Rig({ machine: { 'axis.z_start_mm': 6 } });
    rig.trigger = 1;
    rig.wait(200).move(200, 100, 50);
    rig.trigger = 0;
    rig.wait(100).move(150, 90, 100).wait(450, -4).strike();
    let crossings = 0;
    rig.move(150, 110, 50, () => {
      crossings += rig.world.cells.arc.crossing;
    });
    expect([rig.world.cells.arc.starts, crossings]).toEqual([1, 0]);
  });

  it('includes the half of the pierced hole that lies behind the start', () => {
    const rig = new Rig().strike();
    rig.move(150, 100, 50);
    rig.trigger = 0;
    rig.wait(100).move(99.5, 90, 100).strike();
    let crossings = 0;
    rig.move(99.5, 110, 50, () => {
      crossings += rig.world.cells.arc.crossing;
    });
    expect(crossings).toBeGreaterThan(0);
  });

  it('remembers the beginning of a long cut', () => {
    const rig = new Rig({ x_mm: 20 }).strike();
    rig.move(580, 100, 100).move(580, 200, 100).move(20, 200, 100);
    rig.trigger = 0;
    rig.wait(100).move(30, 90, 200).strike();
    let crossings = 0;
    rig.move(30, 110, 50, () => {
      crossings += rig.world.cells.arc.crossing;
    });
    expect(crossings).toBeGreaterThan(20);
  });

  it('is wider where the feed was slow', () => {
    const widths = [50, 5].map((feed_mm_s) => {
      const rig = new Rig().strike();
      rig.move(120, 100, feed_mm_s);
      rig.trigger = 0;
      rig.wait(100).move(110, 90, 100).strike();
      let ticks = 0;
      rig.move(110, 110, 50, () => {
        ticks += rig.world.cells.arc.crossing;
      });
      return ticks * 0.05;
    }) as [number, number];
    // Nominal 1.5 mm; at a tenth of the feed 1.5 · (1 + 0.5 · 0.9) = 2.175 mm: 0.675 more, a cell (0.25) and a step (0.2) of doubt.
    expect(widths[1] - widths[0]).toBeGreaterThan(0.2);
    expect(widths[1] - widths[0]).toBeLessThan(1.15);
  });

  it('is missing past the edge of the sheet, where the arc stretches until it goes out', () => {
    const rig = new Rig({ x_mm: 580, world: { 'arc.crossing_V': 25, 'arc.reach_mm': 15 } }).strike();
    rig.move(600.5, 100, 50);
    const edge_V = rig.world.cells.arc.true_V;
    expect(rig.world.cells.plate.off_sheet).toBe(1);
    expect(rig.world.cells.arc.crossing).toBe(0);
    rig.move(602, 100, 50);
    expect(rig.world.cells.arc.missing).toBeGreaterThan(0.99);
    expect(rig.world.cells.arc.true_V).toBeGreaterThan(edge_V);
    // 1.5 mm standoff and 25 V / 4 V/mm leave 7.25 mm of reach past the edge; 15 ms to go out are 0.75 mm more.
    rig.move(607, 100, 50);
    expect(rig.world.cells.arc.burning).toBe(1);
    rig.move(609, 100, 50);
    expect(rig.world.cells.arc.burning).toBe(0);
  });

  it('keeps the old kerf on a sheet of the largest size and past its corners', () => {
    const machine = { 'table.sheet_width_mm': 3000, 'table.sheet_height_mm': 2000 };
    const rig = new Rig({ machine, x_mm: 2990, y_mm: 1990 }).strike();
    rig.move(2980, 1990, 50);
    rig.trigger = 0;
    rig.wait(100).move(2985, 1980, 100).strike();
    let crossings = 0;
    rig.move(2985, 1995, 50, () => {
      crossings += rig.world.cells.arc.crossing;
    });
    expect(crossings).toBeGreaterThan(20);
  });
});
