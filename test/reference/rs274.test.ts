/**
 * Source: T. Kramer, F. Proctor, E. Messina, The NIST RS274NGC Interpreter, version 3, NIST IR 6556 (2000).
 * Status: second hand, from copies of its language sections.
 */
import { describe, expect, it } from 'vitest';
import type { StandoffError } from '../../sim/base/index.js';
import { BlockKind, noteTexts, type Plan, parseProgram, planProgram } from '../../sim/world/motion/index.js';

const LIMITS = {
  acceleration_mm_s2: 1000,
  braking_mm_s2: 1000,
  rapid_mm_s: 200,
  corner_velocity_step_mm_s: 10,
};
const read = (...lines: string[]) => parseProgram([...lines, 'M2'].join('\n'), 'nist.nc');
const planOf = (...lines: string[]): Plan => planProgram(read(...lines), LIMITS);
const codeOf = (...lines: string[]): string => {
  try {
    const notes = noteTexts(read(...lines));
    return notes.some((note) => note.includes('radius')) ? 'read, and told' : 'read';
  } catch (error) {
    return (error as StandoffError).code;
  }
};
const sweep_degrees = (plan: Plan, index: number) => (plan.steps.sweep_rad[index] * 180) / Math.PI;

describe('NIST IR 6556', () => {
  it('example: from (7,7) G17 G2 x10 y16 i3 j4 z9 has its centre at (10,11) and a radius of 5', () => {
    const plan = planOf('F60', 'G0 X7 Y7', 'G17 G2 x10 y16 i3 j4 z9');
    expect([plan.steps.centre_x_mm[1], plan.steps.centre_y_mm[1]]).toEqual([10, 11]);
    expect(plan.steps.radius_mm[1]).toBe(5);
    // Seen from the centre the arc goes from (−3, −4) by way of (−5, 0) to (0, 5).
    const from_degrees = 180 + (Math.atan2(4, 3) * 180) / Math.PI;
    expect(sweep_degrees(plan, 1)).toBeCloseTo(90 - from_degrees, 9);
  });

  it('example: "g0x +0. 12 34y 7" is "g0 x+0.1234 y7"', () => {
    const program = read('g0x +0. 12 34y 7');
    expect([program.x_mm[0], program.y_mm[0]]).toEqual([0.1234, 7]);
  });

  it('centre format: radii may differ by 0.002 mm, or by 0.0002 in when inches are in use', () => {
    const arc = (units: string, excess: string) => codeOf(`${units} F60`, `G2 X2${excess} Y0 I1 J0`);
    expect(arc('G21', '.0019')).toBe('read');
    expect(arc('G21', '.0021')).toBe('read, and told');
    expect(arc('G20', '.00019')).toBe('read');
    expect(arc('G20', '.00021')).toBe('read, and told');
    expect(arc('G21', '.04')).toBe('program-arc-radii');
  });

  it('radius format: positive for 180 degrees or less, negative for more', () => {
    const plan = planOf('F60', 'G2 X10 Y10 R10', 'G3 X0 Y0 R10', 'G2 X10 Y10 R-10', 'G3 X0 Y0 R-10', 'G3 X20 R10');
    expect(sweep_degrees(plan, 0)).toBeCloseTo(-90, 9);
    expect(sweep_degrees(plan, 1)).toBeCloseTo(90, 9);
    expect(sweep_degrees(plan, 2)).toBeCloseTo(-270, 9);
    expect(sweep_degrees(plan, 3)).toBeCloseTo(270, 9);
    expect(sweep_degrees(plan, 4)).toBeCloseTo(180, 9);
    expect(plan.steps.centre_x_mm[0]).toBeCloseTo(10, 12);
    expect(plan.steps.centre_y_mm[0]).toBeCloseTo(0, 12);
    expect(plan.steps.centre_x_mm[2]).toBeCloseTo(0, 12);
    expect(plan.steps.centre_y_mm[2]).toBeCloseTo(10, 12);
  });

  it('radius format: a radius that is too short by less than the tolerance makes a half circle', () => {
    const plan = planOf('F60', 'G2 X10 R4.9985');
    expect(plan.steps.centre_x_mm[0]).toBeCloseTo(5, 12);
    expect(sweep_degrees(plan, 0)).toBeCloseTo(-180, 9);
    expect(codeOf('F60', 'G2 X10 R4.9975')).toBe('program-arc-radius');
  });

  it('an arc that ends where it starts is an error with R and a full circle with I and J', () => {
    expect(codeOf('F60', 'G2 X0 Y0 R5')).toBe('program-arc-radius');
    expect(Math.abs(sweep_degrees(planOf('F60', 'G2 X0 Y0 I5 J0'), 0))).toBeCloseTo(360, 9);
    expect(codeOf('F60', 'G2 X1 Y1')).toBe('program-arc-centre');
  });

  it('I and J count from the start of the arc, in G90 too', () => {
    const program = read('F60 G90', 'G0 X100 Y50', 'G3 X90 Y60 I-10 J0');
    expect([program.centre_x_mm[1], program.centre_y_mm[1]]).toEqual([90, 50]);
  });

  it('G4 P is in seconds and must not be negative', () => {
    expect(read('G4 P1.5').dwell_s[0]).toBe(1.5);
    expect(codeOf('G4 P-0.1')).toBe('program-dwell');
  });

  it('M3 when on and M5 when off are legal', () => {
    expect(codeOf('M5', 'M3', 'M3', 'M5', 'M5')).toBe('read');
  });

  it('M2 and M30 end the program and turn off what M3 turned on', () => {
    for (const end of ['M2', 'M30']) {
      const program = parseProgram(`M3\n${end}\n`, 'nist.nc');
      expect(program.kind[1]).toBe(BlockKind.end);
      expect(planProgram(program, LIMITS).steps.torch[1]).toBe(0);
    }
  });

  it('two words of one modal group on a line are an error, of different groups are not', () => {
    expect(codeOf('G0 G1 X1 F60')).toBe('program-words-contradict');
    expect(codeOf('M3 M5')).toBe('program-words-contradict');
    expect(codeOf('G0 G17 G21 G40 G54 G90 G94 X1 M3')).toBe('read');
  });

  it('numbers have an optional sign, digits and at most one point, and no exponent', () => {
    expect([...read('G0 X+5 Y.5', 'X-5. Y005').x_mm.slice(0, 2)]).toEqual([5, -5]);
    expect(codeOf('G0 X1E3')).toBe('program-word-unknown');
    expect(codeOf('G0 X.')).toBe('program-number-missing');
  });

  it('a line has up to 256 characters, here without its comments', () => {
    const line = (length: number) => `G0 X1 ${' '.repeat(length - 6)}`;
    expect(codeOf(line(256))).toBe('read');
    expect(codeOf(line(257))).toBe('program-line-too-long');
    expect(codeOf(`${line(256)}(${'-'.repeat(300)})`)).toBe('read');
  });
});
