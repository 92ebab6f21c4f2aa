import { type Campaign, CaseRunner, ownRequirements } from './case-runner.js';
import { type Cell, runCell } from './cell.js';
import { type SearchOptions, type SearchResult, search } from './search.js';
import type { Tally } from './tally.js';

/** Cases from (inclusive) to (exclusive) of a campaign; a search around them; or the first of them as one cell of a map. */
export interface WorkerTask {
  readonly campaign: Campaign;
  readonly from: number;
  readonly to: number;
}
export interface SearchTask {
  readonly campaign: Campaign;
  readonly search: SearchOptions;
}
export interface CellTask {
  readonly campaign: Campaign;
  readonly cell_cuts: number;
}

let key = '';
let runner: CaseRunner | undefined;

/** What the pool calls. A worker keeps its plans from task to task. */
export default async function work(task: WorkerTask | SearchTask | CellTask): Promise<Tally | SearchResult | Cell> {
  const wanted = JSON.stringify(task.campaign);
  if (runner === undefined || wanted !== key) {
    runner = new CaseRunner(task.campaign, await ownRequirements(task.campaign));
    key = wanted;
  }
  if ('from' in task) return runner.run(task.from, task.to);
  if ('search' in task) return search(runner, task.campaign.ranges, task.search);
  return runCell(runner, task.cell_cuts);
}
