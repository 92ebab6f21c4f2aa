/** The yardstick of the benchmark: the best possible standoff error of the linear plant (Kalman filter and LQR). */
import { beforeAll, expect, it } from 'vitest';
import { PARAMETER_ROWS } from '../../firmware/wire/parameter-rows.js';
import { askPython, describeAgainst, SCIPY } from './support.js';

interface Compared {
  readonly name: string;
  readonly error_rms_mm: number;
  readonly bound_rms_mm: number;
  readonly acceleration_rms_mm_s2: number;
  readonly bound_acceleration_rms_mm_s2: number;
  readonly ratio: number;
}

type ErrorAndAcceleration = readonly [number, number];

interface Check {
  readonly yardstick: readonly {
    readonly problem: string;
    readonly sheet_known_rms_mm: number;
    readonly controllers: readonly Compared[];
  }[];
  readonly box: Readonly<Record<string, number>>;
  readonly pi: { readonly computed: ErrorAndAcceleration; readonly simulated: ErrorAndAcceleration };
  readonly bound: { readonly computed: ErrorAndAcceleration; readonly simulated: ErrorAndAcceleration };
  readonly neighbours: readonly number[];
}

describeAgainst(SCIPY, 'the best possible standoff error', (python) => {
  let check: Check;
  beforeAll(() => {
    check = askPython<Check>(python, 'lqg_check.py', {});
  });
  const controllers = () => check.yardstick.flatMap((problem) => problem.controllers);

  it('is computed for the box’s own default gains', () => {
    for (const [name, value] of Object.entries(check.box)) {
      expect(value, name).toBe(PARAMETER_ROWS.find((row) => row.name === name)!.default);
    }
  });

  it('is not beaten by any PI at the same rms acceleration', () => {
    expect(controllers()).toHaveLength(4);
    for (const { ratio, ...one } of controllers()) {
      expect(one.bound_acceleration_rms_mm_s2 / one.acceleration_rms_mm_s2).toBeCloseTo(1, 6);
      expect(ratio).toBeGreaterThanOrEqual(1);
      expect(ratio).toBeCloseTo(one.error_rms_mm / one.bound_rms_mm, 12);
    }
    // Nor can the torch follow a sheet better than the sheet is known.
    for (const { sheet_known_rms_mm, controllers: some } of check.yardstick) {
      for (const one of some) expect(one.bound_rms_mm).toBeGreaterThan(sheet_known_rms_mm);
    }
  });

  it('cannot be improved on by changing any of its gains', () => {
    expect(check.neighbours.length).toBeGreaterThan(20);
    // Rounding of the Lyapunov solution.
    for (const cost of check.neighbours) expect(cost).toBeGreaterThan(1 - 1e-9);
    // And the changes are felt, or the check would say nothing.
    expect(Math.max(...check.neighbours)).toBeGreaterThan(1.001);
  });

  it('and that of the PI come out of a simulation as they come out of the covariance', () => {
    for (const { computed, simulated } of [check.pi, check.bound]) {
      // 400 runs of 4 s: some 10 000 independent errors, known to 1 %; accelerations much better.
      expect(Math.abs(simulated[0] / computed[0] - 1)).toBeLessThan(0.03);
      expect(Math.abs(simulated[1] / computed[1] - 1)).toBeLessThan(0.01);
    }
  });

  it('is reached within 1.5 times by a tuned PI', () => {
    for (const { problem, controllers: some } of check.yardstick) {
      for (const one of some) {
        console.info(
          `${problem}: ${one.name} ${one.error_rms_mm.toFixed(4)} mm rms, bound ${one.bound_rms_mm.toFixed(4)}, ` +
            `ratio ${one.ratio.toFixed(3)} at ${one.acceleration_rms_mm_s2.toFixed(0)} mm/s²`,
        );
      }
      const tuned = some.find((one) => one.name === 'tuned PI')!;
      const usual = some.find((one) => one.name === 'default PI')!;
      expect(tuned.ratio).toBeLessThan(1.5);
      expect(tuned.error_rms_mm).toBeLessThanOrEqual(usual.error_rms_mm);
    }
  });
});
