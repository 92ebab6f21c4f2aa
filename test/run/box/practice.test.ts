import { describe, expect, it } from 'vitest';
import { MODE_FAULT, MODE_FOLLOW, MODE_REST } from '../../../firmware/wire/codes.gen.js';
import { INPUT_KEY, INPUT_STOP_CHAIN, OUTPUT_MODE, OUTPUT_REFUSAL } from '../../../firmware/wire/layout.gen.js';
import { PracticeTable } from '../../../sim/run/box/practice.js';
import { loadControlModule, WasmController } from '../../../sim/run/controller/index.js';
import { motionLimits, setParameters } from '../../../sim/run/loop/index.js';
import { exampleSetup } from '../../../sim/run/setup/index.js';
import { parseProgram, planProgram } from '../../../sim/world/motion/index.js';
import { SHORT_CUT } from '../../commands/command.js';

const setup = exampleSetup();
const plan = planProgram(parseProgram(SHORT_CUT, 'short.nc'), motionLimits(setup.machine));

/** The table with a box behind it that is the module in this process. */
class Bench {
  readonly table = new PracticeTable(setup, plan, 1);
  readonly box = new WasmController(loadControlModule());
  readonly modes = new Set<number>();

  constructor() {
    setParameters(this.box, setup.box);
  }

  run(ms: number): this {
    const { table, box } = this;
    for (; ms > 0; ms--) {
      box.readings.set(table.world.readings);
      box.digital_inputs = table.digital_inputs;
      box.x_steps = table.x_steps;
      box.y_steps = table.y_steps;
      box.tick();
      this.modes.add(this.mode);
      table.advance(box.z_steps, box.digital_outputs);
    }
    return this;
  }

  get mode(): number {
    return this.box.output.integers[OUTPUT_MODE / 4];
  }
}

describe('the practice table', () => {
  it('waits with the key off until it is told to cut', () => {
    const { table, modes } = new Bench().run(2000);
    expect(table.digital_inputs & INPUT_KEY).toBe(0);
    expect([...modes]).toEqual([MODE_REST]);
    expect(table.words).toBe('the table waits');
  });

  it('cuts the program to its end, and again on a new sheet', () => {
    const bench = new Bench().run(100);
    for (const cuts of [1, 2]) {
      bench.modes.clear();
      bench.table.cut();
      bench.run(500);
      expect(bench.table.cutting).toBe(true);
      expect(bench.table.words).toMatch(/^line \d+|the program is at line/);
      bench.run(12_000);
      expect(bench.modes).toContain(MODE_FOLLOW);
      expect(bench.modes).not.toContain(MODE_FAULT);
      expect(bench.table.words).toBe('the program has come to its end');
      expect([bench.table.cuts, bench.table.world.cells.arc.starts, bench.table.world.cells.wires.contacts]).toEqual([
        cuts,
        1,
        0,
      ]);
    }
  });

  it('can be stopped by hand in the middle: the box faults, and the program stops', () => {
    const bench = new Bench().run(100);
    bench.table.cut();
    while (bench.mode !== MODE_FOLLOW) bench.run(1);
    bench.table.turn('stop');
    expect(bench.table.digital_inputs & INPUT_STOP_CHAIN).toBe(0);
    bench.run(2000);
    expect(bench.mode).toBe(MODE_FAULT);
    expect(bench.table.words).toMatch(/^the program stopped at line 4: permit withdrawn/);
    expect(bench.table.world.cells.arc.burning).toBe(0);
    bench.table.turn('stop');
    bench.table.turn('reset');
    bench.run(100);
    bench.table.turn('reset');
    bench.table.cut();
    bench.run(12_500);
    expect(bench.table.words).toBe('the program has come to its end');
    expect(bench.box.output.integers[OUTPUT_REFUSAL / 4]).toBe(0);
  });
});
