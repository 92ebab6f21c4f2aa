/** One of the threads that judge: gets the place of a mutant in the table, answers with what caught it. */
import { parentPort } from 'node:worker_threads';
import { buildModule } from './build.js';
import { RequirementJudge } from './judge-requirements.js';
import { judgeByTests } from './judge-tests.js';
import type { Caught, Verdict } from './report.js';
import { MUTANTS } from './rows.js';

const requirements = await RequirementJudge.create();
const port = parentPort!;

async function judge(index: number): Promise<Verdict> {
  const start = performance.now();
  // A place outside the table is the module as it is.
  const wasm = await buildModule(MUTANTS[index]);
  const built = performance.now();
  const requirement = requirements.judge(wasm);
  const test = requirement ? undefined : judgeByTests(wasm);
  const caught: Caught | null = requirement
    ? { by: 'requirement', name: requirement.requirement, scenario: requirement.scenario }
    : test === undefined
      ? null
      : { by: 'test', name: test };
  return { index, caught, build_s: (built - start) / 1000, judge_s: (performance.now() - built) / 1000 };
}

port.on('message', async (index: number) => {
  try {
    port.postMessage(await judge(index));
  } catch (error) {
    port.postMessage({ index, error: (error as Error).message });
  }
});
