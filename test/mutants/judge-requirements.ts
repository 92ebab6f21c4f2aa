import { Judge, type RequirementResult, requirementContext, Stretches } from '../../sim/judge/index.js';
import type { ControlModule } from '../../sim/run/controller/index.js';
import { controlModule, WasmController } from '../../sim/run/controller/wasm.js';
import { run } from '../../sim/run/loop/index.js';
import { cutOptions } from '../run/loop/cut.js';
import { buildModule } from './build.js';
import { SCENARIOS, type Scenario } from './scenarios.js';

type Kind = RequirementResult['kind'];
/** What a run came to, by what is true of it. */
export interface Came {
  /** Names of what is broken, and of the goals that are missed. */
  readonly requirement: readonly string[];
  readonly goal: readonly string[];
  /** Without a fault of the box, and to the end of the program. */
  readonly finished: boolean;
  /** Mean of the true standoff error of each contour, mm; null where nothing was followed. */
  readonly errors_mm: readonly (number | null)[];
}

/** What caught a defect, and in which run. */
export interface Finding {
  readonly by: Kind;
  readonly name: string;
  readonly scenario: string;
}

/** Added to the seeds of the runs for other noise, and other chances. */
const OTHER_SEED = 1000;
/** The torch may be so much further off in a contour than with the sound module, mm: a seventh of cut height. */
const WORSE_MM = 0.2;

/** A scenario with its program planned, once for all modules. */
export function prepared({ program, changes }: Scenario) {
  const options = cutOptions(program, changes);
  const { relay_release_ms } = options.machine.firing;
  return { options, context: requirementContext(options.box, { relay_release_ms }) };
}
export type Prepared = ReturnType<typeof prepared>;

/** Cuts scenarios with one module, in one instance of it. */
export class ScenarioCuts {
  private readonly controller: WasmController;
  private readonly stretches = new Stretches();

  constructor(module: ControlModule) {
    this.controller = new WasmController(module);
  }

  /** A run that breaks off has broken a requirement. @param seed added to the run's own */
  cameTo({ options, context }: Prepared, seed = 0): Came {
    try {
      const judge = new Judge(context, this.stretches);
      this.controller.renew();
      const outcome = run({ ...options, seed: options.seed + seed, controller: this.controller }, [judge]);
      const figures = judge.figures.figures();
      const results = judge.results(figures);
      const lost = (kind: Kind) => results.filter((one) => one.kind === kind && !one.kept).map(({ name }) => name);
      return {
        requirement: lost('requirement'),
        goal: lost('goal'),
        finished: judge.verdict(outcome, figures, results).stop === null,
        errors_mm: figures.contours.map((contour) => contour.standoff_error_mean_mm),
      };
    } catch (error) {
      const broken = `broke off: ${(error as Error).message}`;
      return { requirement: [broken], goal: [], finished: false, errors_mm: [] };
    }
  }
}

const larger_mm = (one: number | null, other: number | null | undefined): number | null =>
  one === null || other === null || other === undefined ? null : Math.max(Math.abs(one), Math.abs(other));

/** What the sound module comes to with one noise or another: a defect that does no more may be chance. */
export const either = (one: Came, other: Came): Came => ({
  requirement: [...new Set([...one.requirement, ...other.requirement])],
  goal: [...new Set([...one.goal, ...other.goal])],
  finished: one.finished && other.finished,
  errors_mm: one.errors_mm.map((error_mm, contour) => larger_mm(error_mm, other.errors_mm[contour])),
});

/** The goal that a run misses and the sound module's does not. A cut that the sound module finishes is to be finished. */
export function missedGoal(sound: Came, came: Came): string | undefined {
  const goal = came.goal.find((name) => !sound.goal.includes(name));
  if (goal !== undefined) return goal;
  if (sound.finished && !came.finished) return 'finished';
  const worse = sound.errors_mm.some((sound_mm, contour) => {
    const error_mm = came.errors_mm[contour];
    return typeof error_mm === 'number' && sound_mm !== null && Math.abs(error_mm) > Math.abs(sound_mm) + WORSE_MM;
  });
  return worse ? 'standoff-error' : undefined;
}

/** Judges modules by requirements and goals, over the fixed set of runs, against what the sound module breaks in them. */
export class RequirementJudge {
  /** What has caught a defect is asked first for the next. */
  private readonly order: number[] = [...SCENARIOS.keys()];

  private constructor(
    private readonly runs: readonly Prepared[],
    private readonly sound: readonly Came[],
  ) {}

  static async create(): Promise<RequirementJudge> {
    const cuts = new ScenarioCuts(controlModule(await buildModule()));
    const runs = SCENARIOS.map(prepared);
    return new RequirementJudge(
      runs,
      runs.map((one) => either(cuts.cameTo(one), cuts.cameTo(one, OTHER_SEED))),
    );
  }

  /** Runs in which the sound module breaks a requirement: what the box cannot help. */
  get soundBreaks(): readonly { readonly scenario: string; readonly requirements: readonly string[] }[] {
    return SCENARIOS.map(({ name }, index) => ({ scenario: name, requirements: this.sound[index].requirement })).filter(
      ({ requirements }) => requirements.length > 0,
    );
  }

  /**
   * @returns the first requirement that is broken, with its run; without any the first goal that is missed; undefined when the module
   * keeps what the sound one does
   */
  judge(wasm: Uint8Array<ArrayBuffer>): Finding | undefined {
    const cuts = new ScenarioCuts(controlModule(wasm));
    let missed: Finding | undefined;
    for (const index of this.order) {
      const scenario = SCENARIOS[index].name;
      const sound = this.sound[index];
      const came = cuts.cameTo(this.runs[index]);
      const requirement = came.requirement.find((name) => !sound.requirement.includes(name));
      if (requirement !== undefined) {
        this.order.unshift(...this.order.splice(this.order.indexOf(index), 1));
        return { by: 'requirement', name: requirement, scenario };
      }
      const goal = missed === undefined ? missedGoal(sound, came) : undefined;
      if (goal !== undefined) missed = { by: 'goal', name: goal, scenario };
    }
    return missed;
  }
}
