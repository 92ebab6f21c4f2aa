import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import { Random } from '../base/index.js';
import type { ControlModule } from '../run/controller/index.js';
import { drawnTable } from './choices.js';
import { ALL_DIRECTIONS, CONTACT } from './directions.js';
import type { Invariant } from './invariant.js';
import { GUARD_INVARIANTS } from './invariants.js';
import { KEY_FIELDS } from './key.js';
import { factsOf, type Kind } from './kind.js';
import { TickRunner } from './ticks.js';

/** What the guard asks about: made up in all combinations; a fault in half of them. */
const FLAGS = ['trigger', 'permit', 'armed', 'touched_off', 'owned'] as const;
const STATES = MODE_ROWS.length * 2 ** FLAGS.length * 2;
/** What happens in them: anything at all, drawn at random. */
const CHOICES = 500;
const SEED = 23;

/** What the guard let through in states that are made up. */
export interface GuardResult {
  readonly states: number;
  readonly transitions: number;
  /** Names of the rules that were broken. */
  readonly broken: readonly string[];
}

const OTHERS: Readonly<Record<string, number>> = { stage: STAGE_ROWS.length, hold: HOLD_ROWS.length };

/** A state, whether the sequence can come to it or not: mode, flags and fault by its number, all else at random. */
function madeUp(number: number, random: Random): number {
  const flags = Math.floor(number / MODE_ROWS.length);
  const faulty = flags >>> FLAGS.length !== 0;
  let key = 0;
  let shift = 0;
  for (const { name, bits } of KEY_FIELDS) {
    const flag = FLAGS.indexOf(name as never);
    const drawn = Math.floor(random.uniform() * (OTHERS[name] ?? 2 ** bits));
    const fault = faulty ? 1 + (drawn % (FAULT_ROWS.length - 1)) : 0;
    const value = name === 'mode' ? number % MODE_ROWS.length : name === 'fault' ? fault : drawn;
    key |= (flag < 0 ? value : (flags >>> flag) & 1) << shift;
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
  const choices = drawnTable([...ALL_DIRECTIONS, CONTACT], CHOICES, () => random.uniform());
  for (let number = 0; number < STATES; number++) {
    const key = madeUp(number, random);
    const asked = new Map<number, readonly Invariant[]>();
    runner.stepAll(key, choices, (_, after, facts) => {
      const rules = asked.get(after) ?? GUARD_INVARIANTS.filter((rule) => rule.concerns(key, after));
      asked.set(after, rules);
      for (const { name, kept } of rules) if (!kept(facts | given, key, after)) broken.add(name);
    });
  }
  return { states: STATES, transitions: STATES * CHOICES, broken: [...broken] };
}
