import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Case } from '../../sim/campaign/case.js';
import { rangesAround } from '../../sim/campaign/ranges.js';
import { drawnValues, relationsKept } from '../../sim/campaign/relations.js';
import { shrink } from '../../sim/campaign/shrink.js';
import { Judge, requirementContext } from '../../sim/judge/index.js';
import { loadControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, run } from '../../sim/run/loop/index.js';
import { defaultSetup, readScenario } from '../../sim/run/setup/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';

const setup = defaultSetup();
const ranges = rangesAround(setup);
const space = { setup, ranges, duration_s: 12 };
const start: Case = {
  seed: 1,
  values: drawnValues(setup, ranges, new Float64Array(ranges.numbers.length).fill(1), true),
  faults: [
    { kind: 'stuck-code', at_s: 3.27, for_s: 0.4, value: 17 },
    { kind: 'open-lead', at_s: 6.83 },
  ],
  operator: [
    { line: 'hold', at_s: 2.34, on: true },
    { line: 'reset', at_s: 8.12, on: true },
  ],
};

describe('shrinking', () => {
  it('leaves only what the failure needs, and says it in words', () => {
    const needs = (one: Case) =>
      (one.values['world.sheet.tilt_x'] ?? 0.02) > 0.03 && one.faults.some((fault) => fault.kind === 'open-lead');
    const { case: small, ingredients } = shrink(start, space, needs);
    expect(Object.keys(small.values)).toEqual(['world.sheet.tilt_x']);
    expect(small.values['world.sheet.tilt_x']).toBe(0.031);
    expect(small.faults).toEqual([{ kind: 'open-lead', at_s: 7 }]);
    expect(small.operator).toEqual([]);
    expect(ingredients).toEqual(['world.sheet.tilt_x 0.031 mm/mm (the setup has 0.02)', 'open-lead at 7 s, for good']);
  });

  it('keeps a combination of which either alone does not fail', () => {
    const needs = (one: Case) => one.faults.length === 2 && one.operator.length >= 1;
    const { case: small } = shrink(start, space, needs);
    expect(small.faults).toHaveLength(2);
    expect(small.operator).toHaveLength(1);
    expect(small.values).toEqual({});
  });

  it('finds what one cause does alone at another moment', () => {
    const needs = ({ faults, operator }: Case) => {
      const alone = faults.length === 0 && operator.length === 1 && operator[0].at_s === 4.5;
      return alone || (faults.length === 2 && operator.length === 2);
    };
    const { case: small, ingredients } = shrink(start, space, needs);
    expect([small.faults, small.operator]).toEqual([[], [{ line: 'hold', at_s: 4.5, on: true }]]);
    expect(ingredients).toEqual(['the operator turns hold on at 4.5 s']);
  });

  it('keeps what follows from another value within what is drawn: a slope that is told, and the true one', () => {
    const needs = ({ values }: Case) => (values['world.arc.slope_V_per_mm'] ?? 4) > 6;
    const { case: small } = shrink(start, space, needs);
    expect(relationsKept(setup, ranges, small.values)).toBe(true);
    const true_V_per_mm = small.values['world.arc.slope_V_per_mm'];
    const told_V_per_mm = small.values['box.arc_slope_V_per_mm'];
    expect(told_V_per_mm / true_V_per_mm).toBeGreaterThan(0.69);
    expect(told_V_per_mm / true_V_per_mm).toBeLessThan(1.31);
  });

  it('never comes to a trace of a cause that is drawn whole or not at all', () => {
    const needs = ({ values }: Case) => (values['machine.head.arm_Hz'] ?? 0) > 1;
    expect(shrink(start, space, needs).case.values['machine.head.arm_Hz']).toBeGreaterThanOrEqual(15);
  });

  it('comes to an end when everything fails', () => {
    const { case: small, tries } = shrink(start, space, () => true);
    expect(small).toEqual({ seed: 1, values: {}, faults: [], operator: [] });
    expect(tries).toBeLessThan(50);
  });
});

describe('stored runs that once broke a requirement', () => {
  const folder = new URL('scenarios/', import.meta.url);
  const module = loadControlModule();

  it.each(readdirSync(folder))('%s keeps every requirement', (name) => {
    const { setup: stored, program, seed, operator } = readScenario(readFileSync(new URL(name, folder), 'utf8'), name);
    const plan = planProgram(parseProgram(program.text, program.name), motionLimits(stored.machine));
    const judge = new Judge(
      requirementContext(stored.box, { relay_release_ms: stored.machine.firing.relay_release_ms }),
    );
    run({ ...stored, plan, seed, controller: new WasmController(module), ...(operator && { operator }) }, [judge]);
    expect(judge.results().filter((requirement) => requirement.kind === 'requirement' && !requirement.kept)).toEqual(
      [],
    );
  });
});
