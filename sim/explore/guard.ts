import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import { Random } from '../base/index.js';
import type { ControlModule } from '../controller/index.js';
import { brokenBy } from './invariant.js';
import { GUARD_INVARIANTS } from './invariants.js';
import { KEY_FIELDS } from './key.js';
import { factsOf, type Kind } from './kind.js';
import { TickRunner } from './ticks.js';

/** States that are made up, and the seed that makes them. */
const STATES = 100;
const SEED = 23;

/** What the guard let through in states that are made up. */
export interface GuardResult {
  readonly states: number;
  readonly transitions: number;
  /** Names of the rules that were broken. */
  readonly broken: readonly string[];
}

const CODES: Readonly<Record<string, number>> = {
  mode: MODE_ROWS.length,
  stage: STAGE_ROWS.length,
  hold: HOLD_ROWS.length,
  fault: FAULT_ROWS.length,
};

/** Any state at all, whether the sequence can come to it or not. */
function anyKey(random: Random): number {
  let key = 0;
  let shift = 0;
  for (const { name, bits } of KEY_FIELDS) {
    const values = CODES[name] ?? 2 ** bits;
    key |= Math.floor(random.uniform() * values) << shift;
    shift += bits;
  }
  return key >>> 0;
}

/** The rules that the guard alone must keep, one tick from states that hold anything at all: as if the sequence had failed. */
export function exploreGuard(module: ControlModule, kind: Kind): GuardResult {
  const runner = new TickRunner(module, kind);
  const random = new Random(SEED, 0);
  const given = factsOf(kind);
  const broken = new Set<string>();
  let transitions = 0;
  for (let at = 0; at < STATES; at++) {
    const key = anyKey(random);
    const choices = runner.choicesOf(key);
    runner.stepAll(key, choices, (_, after, facts) => {
      for (const { name } of brokenBy(GUARD_INVARIANTS, key, after, facts | given)) broken.add(name);
    });
    transitions += choices.count;
  }
  return { states: STATES, transitions, broken: [...broken] };
}
