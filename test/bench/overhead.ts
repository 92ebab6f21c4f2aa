import { caseOperator, caseSetup } from '../../sim/campaign/case.js';
import { type Campaign, type CampaignRecord, CaseRunner, runCampaign } from '../../sim/campaign/index.js';
import { Judge, requirementContext, Stretches } from '../../sim/judge/index.js';
import { type ControlModule, WasmController } from '../../sim/run/controller/index.js';
import { motionLimits, run } from '../../sim/run/loop/index.js';
import { parseProgram, planProgram } from '../../sim/world/motion/index.js';
import { figure } from './table.js';

/** Seconds of this process's processor time that something took. */
export function processor_s(work: () => void): number {
  const start = process.cpuUsage();
  work();
  return process.cpuUsage(start).user / 1e6;
}

/** Cuts that warm up, and cuts that are measured. */
const FIRST = 320;
const CUTS = 640;
/** The least of so many measurements: whatever disturbs one only adds to it. */
const TIMES = 5;

/** The cuts of a campaign with their requirements and nothing else: what a cut needs is there before the clock starts. */
function bareCuts(module: ControlModule, campaign: Campaign) {
  const { setup, programs } = campaign;
  const runner = new CaseRunner(campaign);
  const plans = programs.map(({ name, text }) => planProgram(parseProgram(text, name), motionLimits(setup.machine)));
  const controller = new WasmController(module);
  const stretches = new Stretches();
  return (from: number, to: number): number => {
    const cuts = Array.from({ length: to - from }, (_, at) => {
      const one = runner.caseOf(from + at);
      const { box, machine, world } = caseSetup(setup, one);
      const context = requirementContext(box, { relay_release_ms: machine.firing.relay_release_ms });
      const plan = plans[(from + at) % plans.length];
      return { context, options: { box, machine, world, plan, seed: one.seed, operator: caseOperator(one) } };
    });
    return processor_s(() => {
      for (const { context, options } of cuts) {
        controller.renew();
        run({ ...options, controller }, [new Judge(context, stretches)]);
      }
    });
  };
}

/** Processor time of all threads for the first cuts of a campaign with one worker, and for the others. */
async function campaign_s(campaign: Campaign): Promise<readonly [first: number, others: number]> {
  const runs = FIRST + CUTS;
  const start = process.cpuUsage();
  let first_s = 0;
  const onProgress = ({ tally }: CampaignRecord) => {
    if (tally.cases === FIRST) first_s = process.cpuUsage(start).user / 1e6;
  };
  await runCampaign({ campaign, runs, span: [0, runs], workers: 1, onProgress });
  return [first_s, process.cpuUsage(start).user / 1e6 - first_s];
}

/**
 * What a campaign adds to a bare cut with its requirements: drawing the case, its setup, results, tally; then threads, messages and
 * progress. Prints shares of a bare cut in %. The start of the worker and of its compiled code is told apart.
 */
export async function overhead(module: ControlModule, campaign: Campaign): Promise<void> {
  const bare = bareCuts(module, campaign);
  const judged = new CaseRunner(campaign);
  bare(0, FIRST);
  judged.run(0, FIRST);
  const bare_s: number[] = [];
  const judged_s: number[] = [];
  const start_s: number[] = [];
  const campaigns_s: number[] = [];
  for (let time = 0; time < TIMES; time++) {
    bare_s.push(bare(FIRST, FIRST + CUTS));
    judged_s.push(processor_s(() => judged.run(FIRST, FIRST + CUTS)));
    const [first_s, others_s] = await campaign_s(campaign);
    start_s.push(first_s);
    campaigns_s.push(others_s);
  }
  const one_s = Math.min(...bare_s);
  const share = (s: number) => `${figure((100 * (s - one_s)) / one_s, 1)} %`;
  console.log(
    `a bare cut with its requirements: ${figure((one_s / CUTS) * 1e3, 2)} ms; a campaign's cut takes ${share(Math.min(...judged_s))} more in its thread ` +
      `(drawing, setup, results, tally), ${share(Math.min(...campaigns_s))} more with messages and progress; ` +
      `start of a worker with its compiled code: ${figure(Math.min(...start_s) - (one_s * FIRST) / CUTS, 2)} s`,
  );
}
