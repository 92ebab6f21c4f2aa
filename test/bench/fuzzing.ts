import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  brokenRequirements,
  type Campaign,
  CaseRunner,
  rangesAround,
  runCampaign,
  SHORT_CUTS,
  search,
} from '../../sim/campaign/index.js';
import { explore } from '../../sim/explore/explorer.js';
import { exploreAll } from '../../sim/explore/index.js';
import { KINDS, TickRunner } from '../../sim/explore/ticks.js';
import type { ControlModule } from '../../sim/run/controller/index.js';
import { defaultSetup } from '../../sim/run/setup/index.js';
import { buildModule } from '../mutants/build.js';
import { overhead, processor_s } from './overhead.js';
import { RARE_DEFECTS } from './rare-defects.js';
import { figure, heading, table } from './table.js';

const setup = defaultSetup();
const campaignOf = (seed: number, module_file?: string): Campaign => ({
  setup,
  ranges: rangesAround(setup),
  programs: SHORT_CUTS,
  seed,
  ...(module_file !== undefined && { module_file }),
});

/** Ticks in `STATES_SLOW` states one by one, as the quick loop is held to; millions a second. */
const STATES_SLOW = 300;
function singleTicks(module: ControlModule): number {
  const kind = KINDS[0];
  const runner = new TickRunner(module, kind);
  const { table } = explore(module, kind);
  let ticks = 0;
  const s = processor_s(() => {
    for (let entry = 0; entry < STATES_SLOW; entry++) {
      const key = table.keyAt(entry);
      const choices = runner.choicesOf(key);
      for (let choice = 0; choice < choices.count; choice++) runner.step(key, choices, choice);
      ticks += choices.count;
    }
  });
  return ticks / s / 1e6;
}

/** Processor time of each kind of exploration, that of the machine's other users does not count; and all kinds on all cores, by the clock. */
async function explorations(module: ControlModule): Promise<void> {
  const rows = KINDS.map((kind) => {
    let states = 0;
    let ticks = 0;
    let run = 0;
    const s = processor_s(() => {
      const exploration = explore(module, kind);
      states = exploration.states;
      ticks = exploration.transitions;
      run = exploration.ticks;
    });
    const name = `${kind.supply_contact ? 'contact' : 'no contact'}, ${kind.target_learned ? 'learned' : 'fixed'} target${kind.parameters === undefined ? '' : `, ${kind.parameters}`}`;
    return [name, String(states), figure(ticks / 1e6, 2), figure(run / 1e6, 2), figure(s, 2)];
  });
  console.log(table([['exploration', 'states', '10^6 ticks', 'of them run', 's of one core'], ...rows]));
  console.log(
    `the same ticks one by one, without rules: ${figure(singleTicks(module), 1)} million a second on one core`,
  );
  const cores = cpus().length;
  const start = performance.now();
  await exploreAll(cores);
  const s = (performance.now() - start) / 1000;
  console.log(
    `all kinds on ${cores} cores, with the start of the threads and the guard alone: ${figure(s, 1)} s by the clock`,
  );
}

/** Enough for the start of the threads not to matter. */
const WORKER_CUTS = 3200;

async function twoWorkers(): Promise<void> {
  let ticks = 0;
  const timed = async (workers: number) => {
    const start = performance.now();
    const { tally } = await runCampaign({
      campaign: campaignOf(2),
      runs: WORKER_CUTS,
      span: [0, WORKER_CUTS],
      workers,
    });
    ticks = tally.ticks;
    return (performance.now() - start) / 1000;
  };
  await timed(2);
  const one_s = await timed(1);
  const two_s = await timed(2);
  console.log(
    `one worker: ${figure(ticks / 1e4 / one_s, 0)} cuts of 10 s a second, all requirements judged, with the start of the thread`,
  );
  console.log(
    `${WORKER_CUTS} cuts: ${figure(one_s, 1)} s with one worker, ${figure(two_s, 1)} s with two: ${figure(one_s / two_s, 2)} times`,
  );
}

/** Memory after some thousands of cuts against that after some hundreds, with the heap swept before. */
function memory(): void {
  const runner = new CaseRunner(campaignOf(3));
  const heap_MB = () => {
    globalThis.gc?.();
    return process.memoryUsage().rss / 1e6;
  };
  runner.run(0, 500);
  const before = heap_MB();
  runner.run(500, 3000);
  console.log(`memory: ${figure(before, 0)} MB after 500 cuts, ${figure(heap_MB(), 0)} MB after 3000`);
}

const MOST_CUTS = 6000;

/** Cuts to the first that breaks the requirement; `MOST_CUTS` when none did. */
function atRandom(campaign: Campaign, requirement: string): number {
  const runner = new CaseRunner(campaign);
  for (let index = 0; index < MOST_CUTS; index++) {
    const one = runner.caseOf(index);
    if (brokenRequirements(runner.judge(index, one).requirements, runner.causesOf(one)).broken.includes(requirement))
      return index + 1;
  }
  return MOST_CUTS;
}

const median = (values: readonly number[]) => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)];

/** Cuts to the first failure of planted defects that seldom break their requirement. */
async function searches(seeds: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'standoff-bench-'));
  const rows: string[][] = [];
  for (const defect of RARE_DEFECTS) {
    const module_file = join(folder, `${defect.name}.wasm`);
    writeFileSync(module_file, await buildModule(defect));
    const chance: number[] = [];
    const guided: number[] = [];
    for (let seed = 1; seed <= seeds; seed++) {
      const campaign = campaignOf(seed, module_file);
      chance.push(atRandom(campaign, defect.requirement));
      const found = search(new CaseRunner(campaign), campaign.ranges, {
        requirement: defect.requirement,
        cuts: MOST_CUTS,
        seed,
      });
      guided.push(found.broken_at ?? MOST_CUTS);
    }
    const [a, b] = [median(chance), median(guided)];
    rows.push([defect.name, `${a}${a === MOST_CUTS ? ' or more' : ''}`, String(b), figure(b / a, 2)]);
  }
  rmSync(folder, { recursive: true });
  console.log(table([['defect', 'at random', 'search', 'share'], ...rows]));
}

export async function fuzzing(module: ControlModule): Promise<void> {
  heading('Fuzzing and exploring');
  await explorations(module);
  await overhead(module, campaignOf(1));
  await twoWorkers();
  memory();
  console.log('cuts to the first failure of a planted defect, median of 5 seeds:');
  await searches(5);
}
