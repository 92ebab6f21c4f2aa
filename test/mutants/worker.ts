/** One of the threads that judge: gets the place of a mutant in the table, answers with what caught it. */
import { parentPort } from 'node:worker_threads';
import { buildModule } from './build.js';
import { RequirementJudge } from './judge-requirements.js';
import { judgeByTests } from './judge-tests.js';
import type { Caught, Verdict } from './report.js';
import { MUTANTS, plantedAt } from './rows.js';

const requirements = await RequirementJudge.create();
const port = parentPort!;

async function judge(index: number): Promise<Verdict> {
  const start = performance.now();
  const wasm = await buildModule(...plantedAt(index));
  const built = performance.now();
  const found = requirements.judge(wasm);
  const test = found ? undefined : judgeByTests(wasm, MUTANTS[index]?.file ?? '');
  const caught: Caught | null = found ?? (test === undefined ? null : { by: 'test', name: test });
  return { index, caught, build_s: (built - start) / 1000, judge_s: (performance.now() - built) / 1000 };
}

/** One row that cannot be built or judged does not end the run. */
const unjudged = (index: number, error: Error): Verdict => ({
  index,
  caught: { by: 'nothing', name: error.message.trim() },
  build_s: 0,
  judge_s: 0,
});

port.on('message', async (index: number) => {
  port.postMessage(await judge(index).catch((error: Error) => unjudged(index, error)));
});
