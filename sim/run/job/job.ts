/** A job is what someone wants cut: a program and a setup, read, planned and checked before anything runs. */
import { tapOf } from '../../electrical/index.js';
import { noteTexts, type Plan, parseProgram, planProgram } from '../../world/motion/index.js';
import type { MachineConfig } from '../../world/plant/index.js';
import { motionLimits } from '../loop/index.js';
import { type Scenario, setupWarnings } from '../setup/index.js';
import { refuseOffSheet } from './off-sheet.js';

/** Everything that a run needs, read and checked. */
export interface Job {
  /** What decides the result; stored, it repeats the run. */
  readonly scenario: Scenario;
  readonly plan: Plan;
  /** What is worth knowing but no reason to refuse; one sentence each. */
  readonly warnings: readonly string[];
}

/**
 * Parses and plans the program of a scenario and checks it against the sheet.
 * @throws StandoffError `program-…` with file, line and column for whatever is wrong with the program
 */
export function jobOf(scenario: Scenario): Job {
  const { program, setup } = scenario;
  const parsed = parseProgram(program.text, program.name);
  const plan = planProgram(parsed, motionLimits(setup.machine));
  refuseOffSheet(plan, setup.machine);
  return {
    scenario,
    plan,
    warnings: [...noteTexts(parsed), ...setupWarnings(setup), ...partsWarnings(setup.machine)],
  };
}

/** The ratio and the time constant may be rounded to three digits and still agree with the parts; assumption. */
const ROUNDED = 0.005;

/** Where the machine section's ratio and time constant are not what its resistors and its capacitor make. */
export function partsWarnings(machine: MachineConfig): string[] {
  const made = tapOf(machine);
  return (['ratio', 'rc_ms'] as const)
    .filter((name) => Math.abs(machine.divider[name] / made[name] - 1) > ROUNDED)
    .map((name) => {
      const value = Number(made[name].toPrecision(4));
      return `machine.divider.${name} is ${machine.divider[name]}, but its parts make it ${value}`;
    });
}
