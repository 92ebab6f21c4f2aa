import { describe, expect, it } from 'vitest';
import {
  EXAMPLE_NAME,
  EXAMPLE_PROGRAM,
  isMove,
  MotionPlayer,
  MotionState,
  noteTexts,
  parseProgram,
  planProgram,
} from '../../../sim/world/motion/index.js';
import { LIMITS, runThrough } from './support.js';

const program = parseProgram(EXAMPLE_PROGRAM, EXAMPLE_NAME);
const plan = planProgram(program, LIMITS);

const lineNumber = (text: string) => EXAMPLE_PROGRAM.split('\n').indexOf(text) + 1;

describe('the example program', () => {
  it('says that it is invented and needs no remark', () => {
    expect(EXAMPLE_PROGRAM).toContain('an invented example');
    expect(noteTexts(program)).toEqual([]);
  });

  it('takes 50 to 70 s without the torch sequences', () => {
    expect(plan.duration_s).toBeGreaterThan(50);
    expect(plan.duration_s).toBeLessThan(70);
  });

  it('cuts six holes, two outlines, a parting cut and a run off the sheet by 2 mm on the right only', () => {
    expect(plan.contours).toHaveLength(10);
    expect(plan.cut_bounds?.max_x_mm).toBe(602);
    expect(plan.cut_bounds?.min_x_mm).toBeGreaterThan(0);
    expect(plan.cut_bounds?.min_y_mm).toBeGreaterThan(0);
    expect(plan.cut_bounds?.max_y_mm).toBeLessThan(400);
  });

  it('crosses the outline of plate 2 at 90 and at 45 degrees', () => {
    const { steps } = plan;
    const parting_mm = 250;
    const angles: number[] = [];
    for (let index = 0; index < steps.count; index++) {
      const line = steps.line[index];
      if (!isMove(steps.kind[index]) || steps.torch[index] === 0 || line >= lineNumber('G0 X150 Y250')) continue;
      const low_mm = Math.min(steps.start_y_mm[index], steps.end_y_mm[index]);
      const high_mm = Math.max(steps.start_y_mm[index], steps.end_y_mm[index]);
      if (low_mm >= parting_mm || high_mm <= parting_mm) continue;
      angles.push((Math.asin(Math.abs(steps.start_dy[index])) * 180) / Math.PI);
    }
    expect(angles).toHaveLength(2);
    expect(angles[0]).toBeCloseTo(90, 6);
    expect(angles[1]).toBeCloseTo(45, 6);
  });

  it('has corners of 90 degrees in both outlines', () => {
    const { turn_degrees, contour } = plan.corners;
    const square = [...contour].filter((_, corner) => Math.abs(turn_degrees[corner] - 90) < 0.01);
    expect(square.filter((of) => of === 3).length).toBeGreaterThanOrEqual(2);
    expect(square.filter((of) => of === 7).length).toBeGreaterThanOrEqual(2);
  });

  it('runs to its end', () => {
    const player = new MotionPlayer(plan, { steps_per_mm: 100 });
    runThrough(player);
    expect(player.table.state).toBe(MotionState.finished);
    expect(player.table.path_mm).toBeCloseTo(plan.cut_length_mm, 9);
  });
});
