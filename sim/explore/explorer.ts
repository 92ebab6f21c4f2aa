import { MODE_ROWS } from '../../firmware/wire/code-rows.js';
import type { ControlModule } from '../run/controller/index.js';
import type { ChoiceTable } from './choices.js';
import { refusalOf } from './facts.js';
import type { Invariant } from './invariant.js';
import { INVARIANTS } from './invariants.js';
import { factsOf, type Kind } from './kind.js';
import { KeyTable } from './table.js';
import { TickRunner } from './ticks.js';

export interface ExploreOptions extends Kind {
  /** Ends the walk after the state in which something was broken; else every state is walked through. */
  readonly first_only?: boolean;
  readonly onProgress?: (states: number, open: number, transitions: number) => void;
}

/** Of a rule that was broken the shortest way is kept, and the shortest from some other modes. */
const WAYS_KEPT = 3;

/** A tick that broke a rule. */
export interface Violation {
  readonly invariant: string;
  readonly before: number;
  readonly choice: number;
  readonly after: number;
}

export interface Exploration {
  readonly states: number;
  /** Ticks that were run; every rule was looked at in each. */
  readonly transitions: number;
  /** In the order in which they were found: of each rule the shortest way first. */
  readonly violations: readonly Violation[];
  readonly refusals: ReadonlySet<number>;
  /** Mode changes as found: bit set of the modes that follow each mode. */
  readonly next_modes: readonly number[];
  readonly table: KeyTable;
  /** Choices in the state of a key. */
  readonly choicesOf: (key: number) => ChoiceTable;
}

/** The rules that have something to say about the change from one key to another. */
const concerned = (before: number, after: number): readonly Invariant[] =>
  INVARIANTS.filter((invariant) => invariant.concerns(before, after));

/**
 * Breadth first over everything that can happen in every state that can be reached. Sound for what the invariants speak of:
 * timers of any length, switches that chatter as long as they like, any height of Z, eight classes of voltage.
 */
export function explore(module: ControlModule, options: ExploreOptions): Exploration {
  const runner = new TickRunner(module, options);
  const table = new KeyTable();
  const violations: Violation[] = [];
  const breaks = (name: string, choice: number, after: number) => {
    const same = violations.filter(({ invariant }) => invariant === name);
    const mode = key & 15;
    if (same.length === WAYS_KEPT || same.some(({ before }) => (table.keyAt(before) & 15) === mode)) return;
    violations.push({ invariant: name, before: at, choice, after });
  };
  const refusals = new Set<number>();
  const next_modes = new Array<number>(MODE_ROWS.length).fill(0);
  let transitions = 0;
  let at = 0;
  let key = 0;
  /** Rules to ask about the ticks from the present key, by the key after them. */
  const rules = new Map<number, readonly Invariant[]>();
  const found = (after: number, choice: number): readonly Invariant[] => {
    table.add(after, at, choice);
    next_modes[key & 15] |= 1 << (after & 15);
    const asked = concerned(key, after);
    rules.set(after, asked);
    return asked;
  };
  const given = factsOf(options);
  const onSighting = (choice: number, after: number, seen: number) => {
    const facts = seen | given;
    const asked = rules.get(after) ?? found(after, choice);
    refusals.add(refusalOf(facts));
    for (let index = 0; index < asked.length; index++) {
      const { name, kept } = asked[index];
      if (!kept(facts, key, after)) breaks(name, choice, after);
    }
  };
  table.add(runner.start(), -1, -1);
  for (; at < table.size; at++) {
    key = table.keyAt(at);
    const choices = runner.choicesOf(key);
    rules.clear();
    runner.stepAll(key, choices, onSighting);
    transitions += choices.count;
    options.onProgress?.(table.size, table.size - at - 1, transitions);
    if (options.first_only === true && violations.length > 0) break;
  }
  return {
    states: table.size,
    transitions,
    violations,
    refusals,
    next_modes,
    table,
    choicesOf: (one) => runner.choicesOf(one),
  };
}
