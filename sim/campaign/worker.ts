import type { SearchTask, SpanTask } from './campaign.js';
import { CaseRunner, ownRequirements } from './case-runner.js';
import { type Cell, type CellTask, runCell } from './map.js';
import { type SearchResult, search } from './search.js';
import type { Tally } from './tally.js';
import { runTrial, type TrialCut, type TrialTask } from './trial.js';

let key = '';
let runner: CaseRunner | undefined;

/** What the pool calls, in a file of its own for its threads. A worker keeps its plans from task to task. */
export default async function work(
  task: SpanTask | SearchTask | CellTask | TrialTask,
): Promise<Tally | SearchResult | Cell | TrialCut[]> {
  const asked = JSON.stringify(task.campaign);
  if (runner === undefined || asked !== key) {
    runner = new CaseRunner(task.campaign, await ownRequirements(task.campaign));
    key = asked;
  }
  if ('from' in task) return runner.run(task.from, task.to);
  if ('search' in task) return search(runner, task.campaign.ranges, task.search);
  if ('trial' in task) return runTrial(runner, task.trial);
  return runCell(runner, task.cell_cuts);
}
