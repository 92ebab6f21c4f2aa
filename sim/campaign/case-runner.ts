import { pathToFileURL } from 'node:url';
import { StandoffError } from '../base/index.js';
import type { OwnRequirements } from '../judge/index.js';
import { loadControlModule } from '../run/controller/index.js';
import { motionLimits } from '../run/loop/index.js';
import type { Setup } from '../run/setup/index.js';
import type { TraceSink } from '../run/trace/index.js';
import { type Plan, parseProgram, planProgram } from '../world/motion/index.js';
import { type CaseSpace, caseOf } from './case.js';
import { CaseJudge } from './judge.js';
import type { Ranges } from './ranges.js';
import { addCase, emptyTally, type Tally } from './tally.js';

/** All that decides the cases of a campaign and what they come to; plain data. */
export interface Campaign {
  readonly setup: Setup;
  readonly ranges: Ranges;
  /** Case number k cuts program k mod length. */
  readonly programs: readonly { readonly name: string; readonly text: string }[];
  readonly seed: number;
  /** Another module than the one built, such as one with a planted defect. */
  readonly module_file?: string;
  /** A JavaScript module that exports `requirements`, an OwnRequirements: judged beside those of the design. */
  readonly requirements_file?: string;
}

/** Faults and operator may come this long after the motion alone would have ended: touch-off and pierce take time, s. */
const EXTRA_S = 8;

/** A campaign with its programs planned once. */
export class CaseRunner {
  private readonly plans: readonly Plan[];
  private readonly spaces: readonly CaseSpace[];
  private readonly verdicts: CaseJudge;

  /**
   * @param own what the campaign's `requirements_file` exports (see `ownRequirements`), or the requirements themselves
   * @throws StandoffError for a module, a program or limits that are none
   */
  constructor(
    private readonly campaign: Campaign,
    own?: OwnRequirements,
  ) {
    const { setup, ranges, programs, module_file } = campaign;
    this.verdicts = new CaseJudge(loadControlModule(module_file), own);
    this.plans = programs.map(({ name, text }) => planProgram(parseProgram(text, name), motionLimits(setup.machine)));
    this.spaces = this.plans.map((plan) => ({ setup, ranges, duration_s: plan.duration_s + EXTRA_S }));
  }

  /** How many programs there are. */
  get programs(): number {
    return this.plans.length;
  }

  programOf(index: number) {
    return this.campaign.programs[index % this.plans.length]!;
  }

  spaceOf(index: number): CaseSpace {
    return this.spaces[index % this.plans.length]!;
  }

  caseOf(index: number) {
    return caseOf(this.spaceOf(index), this.campaign.seed, index);
  }

  /** Judges a case, which may be another than the one of this number; the number chooses the program. */
  judge(index: number, one = this.caseOf(index), watchers: readonly TraceSink[] = []) {
    const plan = this.plans[index % this.plans.length]!;
    return this.verdicts.judge(this.campaign.setup, plan, one, watchers);
  }

  /** Cases from (inclusive) … to (exclusive). */
  run(from: number, to: number): Tally {
    const tally = emptyTally();
    for (let index = from; index < to; index++) {
      const one = this.caseOf(index);
      addCase(tally, index, one, this.judge(index, one));
    }
    return tally;
  }
}

/**
 * The requirements of a campaign's own, in this process.
 * @throws StandoffError `campaign-requirements` for a file that is missing, cannot run, or does not export them
 */
export async function ownRequirements({ requirements_file: file }: Campaign): Promise<OwnRequirements | undefined> {
  if (file === undefined) return undefined;
  const remedy = 'give a JavaScript module that exports requirements(context), a list of new requirements';
  let found: { readonly requirements?: unknown };
  try {
    found = await import(pathToFileURL(file).href);
  } catch (error) {
    throw new StandoffError('campaign-requirements', `${file} cannot be loaded (${String(error)})`, remedy);
  }
  if (typeof found.requirements === 'function') return found.requirements as OwnRequirements;
  throw new StandoffError('campaign-requirements', `${file} exports no function called requirements`, remedy);
}
