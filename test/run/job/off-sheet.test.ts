import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { refuseOffSheet } from '../../../sim/run/job/job.js';
import { motionLimits } from '../../../sim/run/loop/index.js';
import { defaultSetup } from '../../../sim/run/setup/index.js';
import {
  EXAMPLE_NAME,
  EXAMPLE_PROGRAM,
  type Plan,
  parseProgram,
  planProgram,
} from '../../../sim/world/motion/index.js';
import { refused } from '../setup/refused.js';

const { machine } = defaultSetup();
const planOf = (text: string, file = 'cut.nc'): Plan => planProgram(parseProgram(text, file), motionLimits(machine));
const cut = (...lines: string[]): Plan => planOf(['G21 G90 F3000', ...lines, 'M5', 'M2'].join('\n'));

describe('refuseOffSheet', () => {
  it('lets the example run off its edge by 2 mm', () => {
    expect(() => refuseOffSheet(planOf(EXAMPLE_PROGRAM, EXAMPLE_NAME), machine)).not.toThrow();
  });

  it.each([
    ['left', 'G0 X50 Y50\nM3\nG1 X-10', 'X-10', '10 mm'],
    ['right', 'G0 X550 Y50\nM3\nG1 X612.5', 'X612.5', '12.5 mm'],
    ['lower', 'G0 X50 Y50\nM3\nG1 Y-7', 'Y-7', '7 mm'],
    ['upper', 'G0 X50 Y350\nM3\nG1 Y406', 'Y406', '6 mm'],
  ])('refuses a cut over the %s edge, with line and amount', (edge, lines, reach, amount) => {
    const error = refused(() => refuseOffSheet(cut(lines), machine));
    expect(error.code).toBe('program-off-sheet');
    for (const word of ['cut.nc:4:1', reach, amount, `${edge} edge`]) expect(error.what).toContain(word);
  });

  it('allows the run-off to the last micrometre and no more', () => {
    expect(() =>
      refuseOffSheet(cut('G0 X550 Y50', 'M3', `G1 X${600 + machine.table.run_off_mm}`), machine),
    ).not.toThrow();
    const beyond = cut('G0 X550 Y50', 'M3', `G1 X${600 + machine.table.run_off_mm + 0.001}`);
    expect(refused(() => refuseOffSheet(beyond, machine)).what).toContain('5.001 mm');
  });

  it('names the line that goes furthest', () => {
    const plan = cut('G0 X550 Y50', 'M3', 'G1 X610', 'G1 X640', 'G1 X620');
    expect(refused(() => refuseOffSheet(plan, machine)).what).toContain('cut.nc:5:1: the cut reaches X640');
  });

  it('names a line that cuts, though a rapid goes further', () => {
    const plan = cut('G0 X900 Y50', 'G0 X550 Y50', 'M3', 'G1 X610');
    expect(refused(() => refuseOffSheet(plan, machine)).what).toContain('cut.nc:5:1: the cut reaches X610');
  });

  it('sees an arc bulge over the edge though its ends are on the sheet', () => {
    const plan = cut('G0 X590 Y100', 'M3', 'G3 X590 Y140 I0 J20');
    expect(refused(() => refuseOffSheet(plan, machine)).what).toContain('X610');
    expect(() => refuseOffSheet(cut('G0 X590 Y100', 'M3', 'G2 X590 Y140 I0 J20'), machine)).not.toThrow();
  });

  it('does not mind rapids beyond the sheet, nor a program that cuts nothing', () => {
    expect(() => refuseOffSheet(cut('G0 X-100 Y900', 'G0 X50 Y50', 'M3', 'G1 X60'), machine)).not.toThrow();
    expect(() => refuseOffSheet(planOf('G21 G0 X900\nM2'), machine)).not.toThrow();
  });

  it('names a reach that is that of the whole cut, for any arcs', () => {
    const arc = fc.record({
      x: fc.integer({ min: -50, max: 650 }),
      y: fc.integer({ min: -50, max: 450 }),
      i: fc.integer({ min: -80, max: 80 }),
      j: fc.integer({ min: 1, max: 80 }),
      half: fc.boolean(),
      clockwise: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(arc, { minLength: 1, maxLength: 4 }), (arcs) => {
        const lines = arcs.flatMap(({ x, y, i, j, half, clockwise }) => [
          `G0 X${x} Y${y}`,
          'M3',
          `${clockwise ? 'G2' : 'G3'} ${half ? `X${x + 2 * i} Y${y + 2 * j} ` : ''}I${i} J${j}`,
          'M5',
        ]);
        const plan = cut(...lines);
        const { min_x_mm, max_x_mm, min_y_mm, max_y_mm } = plan.cut_bounds!;
        const beyond = Math.max(-min_x_mm, max_x_mm - 600, -min_y_mm, max_y_mm - 400);
        if (beyond <= machine.table.run_off_mm) {
          expect(() => refuseOffSheet(plan, machine)).not.toThrow();
          return;
        }
        const { what } = refused(() => refuseOffSheet(plan, machine));
        const [, axis, reach] = /reaches ([XY])(-?[\d.]+),/.exec(what)!;
        const bounds = axis === 'X' ? [min_x_mm, max_x_mm] : [min_y_mm, max_y_mm];
        // Printed to three decimals.
        expect(bounds.some((bound) => Math.abs(bound - Number(reach)) <= 0.0006)).toBe(true);
      }),
    );
  });
});
