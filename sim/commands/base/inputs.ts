import { tapOf } from '../../electrical/index.js';
import { motionLimits } from '../../run/loop/index.js';
import {
  assignValues,
  exampleSetup,
  readScenario,
  readSetup,
  type Scenario,
  type Setup,
  setupWarnings,
} from '../../run/setup/index.js';
import {
  EXAMPLE_NAME,
  EXAMPLE_PROGRAM,
  noteTexts,
  type Plan,
  parseProgram,
  planProgram,
} from '../../world/motion/index.js';
import type { MachineConfig } from '../../world/plant/index.js';
import { readText } from './files.js';
import { refuseOffSheet } from '../../run/job/off-sheet.js';

/** What the command line names as input. */
export interface InputOptions {
  readonly setup?: string | undefined;
  readonly scenario?: string | undefined;
  readonly seed?: number | undefined;
  /** Assignments, in their order. */
  readonly set?: readonly string[] | undefined;
}

/** Everything that a run needs, read and checked. */
export interface Job {
  /** What decides the result; stored, it repeats the run. */
  readonly scenario: Scenario;
  readonly plan: Plan;
  /** What is worth knowing but no reason to refuse; one sentence each. */
  readonly warnings: readonly string[];
  /** Files that the job was read from. */
  readonly files: readonly string[];
}

export const DEFAULT_SEED = 1;

/**
 * Reads program, setup or stored run. Assignments and a seed on the command line count more than a file.
 * @param program_file without it, and without a stored run, the example
 * @throws StandoffError for whatever is wrong with them; nothing has been run then
 */
export function readJob(program_file: string | undefined, options: InputOptions): Job {
  const { setup, program, seed, operator } = options.scenario
    ? readScenario(readText(options.scenario, 'stored run'), options.scenario)
    : readParts(program_file, options.setup);
  const changed = assignValues(setup, options.set ?? []);
  const parsed = parseProgram(program.text, program.name);
  const plan = planProgram(parsed, motionLimits(changed.machine));
  refuseOffSheet(plan, changed.machine);
  return {
    scenario: { seed: options.seed ?? seed, setup: changed, program, ...(operator && { operator }) },
    plan,
    warnings: [...noteTexts(parsed), ...setupWarnings(changed), ...partsWarnings(changed.machine)],
    files: [program_file, options.setup, options.scenario].filter((file) => file !== undefined),
  };
}

function readParts(program_file: string | undefined, setup_file: string | undefined): Scenario {
  return {
    setup: readSetupFile(setup_file),
    program:
      program_file === undefined
        ? { name: EXAMPLE_NAME, text: EXAMPLE_PROGRAM }
        : { name: program_file, text: readText(program_file, 'program') },
    seed: DEFAULT_SEED,
  };
}

const readSetupFile = (file: string | undefined): Setup =>
  file === undefined ? exampleSetup() : readSetup(readText(file, 'setup'), file);

/**
 * The setup alone, for commands that cut nothing.
 * @throws StandoffError for whatever is wrong with the file or an assignment
 */
export const readSetupOptions = ({ setup, set }: Pick<InputOptions, 'setup' | 'set'>): Setup =>
  assignValues(readSetupFile(setup), set ?? []);

/** Ratio and time constant may be rounded to three digits before they are told from what the parts make, assumption. */
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
