import { loadControlModule } from '../run/controller/index.js';
import { motionLimits } from '../run/loop/index.js';
import type { Setup } from '../run/setup/index.js';
import type { TraceSink } from '../run/trace/index.js';
import { type Plan, parseProgram, planProgram } from '../world/motion/index.js';
import { type CaseSpace, caseOf } from './case.js';
import { CaseJudge } from './judge.js';
import type { Ranges } from './ranges.js';
import { addCase, emptyTally, type Tally } from './tally.js';

const program = (name: string, ...lines: string[]) => ({
  name,
  text: ['G21 G90 G17 F3000', ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n'),
});

/** What a campaign cuts when no program is named: short cuts with what matters in them. Invented, like the example. */
export const SHORT_CUTS = [
  program('straight.nc', 'G0 X50 Y100', 'M3', 'G1 X350'),
  program('corner.nc', 'G0 X50 Y50', 'M3', 'G1 X150', 'G1 Y150'),
  program('crossing.nc', 'G0 X150 Y50', 'M3', 'G1 Y150', 'M5', 'G4 P1', 'G0 X50 Y100', 'M3', 'G1 X250'),
] as const;

/** All that decides the cases of a campaign and what they come to; plain data. */
export interface Campaign {
  readonly setup: Setup;
  readonly ranges: Ranges;
  /** Case number k cuts program k mod length. */
  readonly programs: readonly { readonly name: string; readonly text: string }[];
  readonly seed: number;
  /** Another module than the one built, such as one with a planted defect. */
  readonly module_file?: string;
}

/** Faults and operator may come this long after the motion alone would have ended: touch-off and pierce take time, s. */
const EXTRA_S = 8;

/** A campaign with its programs planned once. */
export class CaseRunner {
  private readonly plans: readonly Plan[];
  private readonly spaces: readonly CaseSpace[];
  private readonly verdicts: CaseJudge;

  constructor(private readonly campaign: Campaign) {
    const { setup, ranges, programs, module_file } = campaign;
    this.verdicts = new CaseJudge(loadControlModule(module_file));
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
