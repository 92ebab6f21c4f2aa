import type { Scenario } from '../setup/index.js';
import { assignValues } from '../setup/index.js';

/** One value that is changed: of the setup by its path, or one of the paths below. */
export interface Change {
  /**
   * `box.…`, `machine.…`, `world.…`; `world.faults.KIND`: the fault of that kind; `program.feed`: every feed, in % of what
   * is written; `program.waits`: waits with the torch on; `operator`: what the operator did.
   */
  readonly path: string;
  readonly from: number | boolean | string;
  readonly to: number | boolean | string;
}

const FAULT = /^world\.faults\.(.+)$/;

/**
 * A cut with some values changed.
 * @throws StandoffError as assignValues, where a value is out of its range or contradicts another
 */
export function applyChanges(scenario: Scenario, changes: readonly Change[]): Scenario {
  const values = changes.filter(({ path }) => isValue(path)).map(({ path, to }) => `${path}=${to}`);
  const assigned = { ...scenario, setup: assignValues(scenario.setup, values) };
  return changes.filter(({ path }) => !isValue(path)).reduce(applyOther, assigned);
}

const isValue = (path: string): boolean => !FAULT.test(path) && !path.startsWith('program.') && path !== 'operator';

function applyOther(scenario: Scenario, { path, to }: Change): Scenario {
  const { setup, program } = scenario;
  const kind = FAULT.exec(path)?.[1];
  if (kind !== undefined) {
    const faults = setup.world.faults.filter((fault) => fault.kind !== kind);
    return { ...scenario, setup: { ...setup, world: { ...setup.world, faults } } };
  }
  if (path === 'program.feed')
    return { ...scenario, program: { ...program, text: withFeed(program.text, Number(to)) } };
  if (path === 'program.waits') return { ...scenario, program: { ...program, text: withoutWaits(program.text) } };
  const { operator: _operator, ...rest } = scenario;
  return rest;
}

/** A comment in brackets, or to the end of the line; or a feed. */
const COMMENT_OR_FEED = /\([^)]*\)|;.*|\bF\s*(\d+\.?\d*|\.\d+)|(?<=[\d.\s])F\s*(\d+\.?\d*|\.\d+)/gi;

function withFeed(text: string, percent: number): string {
  return text.replace(COMMENT_OR_FEED, (all, alone?: string, behind?: string) => {
    const feed = alone ?? behind;
    return feed === undefined ? all : `F${Number(((Number(feed) * percent) / 100).toFixed(3))}`;
  });
}

/** G4 on a line of its own between M3 and M5. */
function withoutWaits(text: string): string {
  let torch = false;
  const kept = text.split('\n').filter((line) => {
    if (/\bM0?3\b/i.test(line)) torch = true;
    if (/\bM0?5\b/i.test(line)) torch = false;
    return !(torch && /^\s*(N\d+\s*)?G0?4\b/i.test(line));
  });
  return kept.join('\n');
}
