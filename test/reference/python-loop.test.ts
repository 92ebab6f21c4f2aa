/** The plain Python loop that the benchmark compares speeds with: it must do the same work to be a fair measure. */
import { expect, it } from 'vitest';
import { MODE_FOLLOW } from '../../firmware/wire/codes.gen.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, Runner } from '../../sim/run/loop/index.js';
import { exampleSetup } from '../../sim/run/setup/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { askPython, describeAgainst, type ReferenceProgram } from './support.js';

const PYTHON: ReferenceProgram = { name: 'python3', debian: 'python3', command: 'python3', probe: ['-c', ''] };

/** rms standoff error of a straight cut of 1 m along the waves, at full feed, in the real loop. */
function straightCut_mm(seed: number): number {
  const { box, machine: usual, world: given } = exampleSetup();
  const machine = { ...usual, table: { ...usual.table, sheet_width_mm: 1200 } };
  const world = { ...given, sheet: { ...given.sheet, wave_direction_deg: 0 } };
  const program = 'G21 G90 F3000\nG0 X40 Y100\nM3\nG1 X1040\nM5\nM30';
  const plan = planProgram(parseProgram(program, 'straight.nc'), motionLimits(machine));
  const controller = new WasmController(loadControlModule());
  const runner = new Runner({ box, machine, world, plan, seed, controller });
  let squares = 0;
  let ticks = 0;
  while (!runner.finished) {
    runner.runBlock();
    const { block } = runner;
    for (let row = 0; row < block.count; row++) {
      if (block.mode[row] !== MODE_FOLLOW || block.feed_mm_s[row] < 49.9) continue;
      squares += (block.standoff_mm[row] - 1.5) ** 2;
      ticks++;
    }
  }
  expect(ticks).toBeGreaterThan(15_000);
  return Math.sqrt(squares / ticks);
}

describeAgainst(PYTHON, 'the Python loop of the benchmark', (python) => {
  it('follows a straight cut as closely as the real loop does', () => {
    const answer = askPython<{ simulated_s_per_s: number; standoff_error_rms_mm: number }>(
      python,
      '../bench/loop.py',
      {},
    );
    expect(answer.simulated_s_per_s).toBeGreaterThan(0);
    const real_mm = (straightCut_mm(1) + straightCut_mm(2) + straightCut_mm(3)) / 3;
    // The error is noise that passes the loop: a few seconds of it have an rms that is known to some 5 %.
    expect(Math.abs(answer.standoff_error_rms_mm / real_mm - 1)).toBeLessThan(0.12);
    console.info(`straight cut: Python ${answer.standoff_error_rms_mm.toFixed(4)} mm rms, real ${real_mm.toFixed(4)}`);
  });
});
