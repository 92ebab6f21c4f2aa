import type { ControlModule } from '../../sim/run/controller/index.js';
import { controlModule } from '../../sim/run/controller/wasm.js';
import { cut } from '../run/loop/cut.js';
import { buildModule } from './build.js';
import { SCENARIOS, type Scenario } from './scenarios.js';

/** What a run of the module says: names of broken requirements, or how it broke off. */
function verdict({ program, changes }: Scenario, module: ControlModule): readonly string[] {
  try {
    return cut(program, { ...changes, module }).broken;
  } catch (error) {
    return [`broke off: ${(error as Error).message}`];
  }
}

/** Judges modules by the requirements, over the fixed set of runs, against what the sound module breaks in them. */
export class RequirementJudge {
  private constructor(private readonly sound: readonly (readonly string[])[]) {}

  static async create(): Promise<RequirementJudge> {
    const module = controlModule(await buildModule());
    return new RequirementJudge(SCENARIOS.map((scenario) => verdict(scenario, module)));
  }

  /** Runs in which the sound module breaks a requirement: what the box cannot help. */
  get soundBreaks(): readonly { readonly scenario: string; readonly requirements: readonly string[] }[] {
    return SCENARIOS.map(({ name }, index) => ({ scenario: name, requirements: this.sound[index] })).filter(
      ({ requirements }) => requirements.length > 0,
    );
  }

  /** @returns the first requirement that is broken, with its run; undefined when every requirement is kept as the sound module does. */
  judge(wasm: Uint8Array<ArrayBuffer>): { readonly requirement: string; readonly scenario: string } | undefined {
    const module = controlModule(wasm);
    for (const [index, scenario] of SCENARIOS.entries()) {
      const requirement = verdict(scenario, module).find((name) => !this.sound[index].includes(name));
      if (requirement !== undefined) return { requirement, scenario: scenario.name };
    }
    return undefined;
  }
}
