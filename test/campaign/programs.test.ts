import { describe, expect, it } from 'vitest';
import { CaseRunner } from '../../sim/campaign/case-runner.js';
import { drawnProgram } from '../../sim/campaign/programs.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import { motionLimits } from '../../sim/run/loop/index.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { type Plan, parseProgram, planProgram } from '../../sim/world/motion/index.js';

const setup = defaultSetup();
const { sheet_width_mm: width_mm, sheet_height_mm: height_mm, run_off_mm } = setup.machine.table;
const sheet = { width_mm, height_mm, run_off_mm };
const planOf = ({ name, text }: { name: string; text: string }): Plan =>
  planProgram(parseProgram(text, name), motionLimits(setup.machine));

describe('a drawn program', () => {
  const programs = Array.from({ length: 600 }, (_, index) => drawnProgram(3, index, sheet));
  const plans = programs.map(planOf);
  const kinds = (kind: string) => programs.filter(({ name }) => name.endsWith(`-${kind}.nc`));

  it('is the same for one seed and number, and another for another', () => {
    expect(drawnProgram(3, 5, sheet)).toEqual(programs[5]);
    expect(drawnProgram(4, 5, sheet).text).not.toBe(programs[5].text);
    expect(new Set(programs.map(({ text }) => text)).size).toBe(600);
  });

  it('is read without a note, cuts something, and stays on the sheet but for what runs off on purpose', () => {
    for (const [index, { cut_bounds, cut_length_mm, duration_s, bounds }] of plans.entries()) {
      const { name } = programs[index];
      expect(cut_length_mm, name).toBeGreaterThan(1);
      expect(duration_s, name).toBeLessThan(60);
      expect(cut_bounds!.min_x_mm, name).toBeGreaterThanOrEqual(-run_off_mm);
      expect(bounds!.max_x_mm, name).toBeLessThanOrEqual(width_mm);
      expect(bounds!.min_y_mm, name).toBeGreaterThanOrEqual(0);
      expect(bounds!.max_y_mm, name).toBeLessThanOrEqual(height_mm);
    }
  });

  it('costs about as much as a named short cut: twice its time at most, over many', () => {
    const mean_s = plans.reduce((sum, { duration_s }) => sum + duration_s, 0) / plans.length;
    expect(mean_s).toBeGreaterThan(5);
    expect(mean_s).toBeLessThan(16);
  });

  it('has feeds from 500 to 8000 mm/min, feed holds, and a table that runs on after the torch', () => {
    const feeds = programs.flatMap(({ text }) => [...text.matchAll(/^F(\d+)$/gm)].map(([, feed]) => Number(feed)));
    expect([Math.min(...feeds) < 550, Math.max(...feeds) > 7500]).toEqual([true, true]);
    expect(Math.min(...feeds)).toBeGreaterThanOrEqual(500);
    expect(Math.max(...feeds)).toBeLessThanOrEqual(8000);
    expect(programs.some(({ text }) => /G1 [^\n]*\nG4 P[^\n]*\nG1/.test(text))).toBe(true);
    expect(programs.some(({ text }) => /M5\nG1/.test(text))).toBe(true);
  });

  it('has sharp corners, holes of 3 to 20 mm, pieces of 0.2 mm, kerf crossings and edges', () => {
    for (const kind of ['corners', 'arcs', 'holes', 'spline', 'edge', 'crossing']) {
      expect(kinds(kind).length, kind).toBeGreaterThan(60);
    }
    expect(Math.max(...plans.flatMap(({ corners }) => [...corners.turn_degrees]))).toBeGreaterThan(150);
    const radii = kinds('holes').flatMap(({ text }) =>
      [...text.matchAll(/I(-?[\d.]+) J(-?[\d.]+)/g)].map(([, i, j]) => Math.hypot(Number(i), Number(j))),
    );
    expect(Math.min(...radii)).toBeCloseTo(1.5, 0);
    expect(Math.max(...radii)).toBeCloseTo(10, 0);
    expect(kinds('spline')[0].text.split('\n').length).toBeGreaterThan(100);
    const off = kinds('edge').filter((one) => planOf(one).cut_bounds!.min_x_mm < 0);
    expect(off.length).toBeGreaterThan(10);
  });
});

describe('a campaign without a program', () => {
  const drawn = new CaseRunner({ setup, ranges: rangesAround(setup), programs: [], seed: 3 });

  it('cuts one of its own in each case, whatever was cut before', () => {
    const far = drawn.programOf(500);
    for (let index = 0; index < 60; index++) drawn.programOf(index);
    expect(drawn.programOf(500)).toEqual(far);
    expect(far).toEqual(drawnProgram(3, 500, sheet));
  });

  it('cuts a given program as it is', () => {
    const given = { name: 'mine.nc', text: 'G21 F3000\nG0 X50 Y50\nM3\nG1 X90\nM5\nM30\n' };
    const runner = new CaseRunner({ setup, ranges: rangesAround(setup), programs: [given], seed: 3 });
    expect([runner.programOf(0), runner.programOf(7)]).toEqual([given, given]);
  });
});
