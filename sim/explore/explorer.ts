import { FAULT_ROWS, HOLD_ROWS, MODE_ROWS, REFUSAL_ROWS, STAGE_ROWS } from '../../firmware/wire/code-rows.js';
import { Random } from '../base/index.js';
import type { ControlModule } from '../run/controller/index.js';
import { Batch } from './batch.js';
import { type ChoiceTable, drawn } from './choices.js';
import { ALL_DIRECTIONS, CONTACT } from './directions.js';
import { type Invariant, refusalOf } from './facts.js';
import { GUARD_INVARIANTS, INVARIANTS } from './invariants.js';
import { fieldOf, KEY_FIELDS } from './key.js';
import { controllerOf, factsOf, type Kind, TickRunner } from './ticks.js';
import { makeTemplates } from './world.js';

/** What the guard looks at: made up in all combinations, with a fault in half of them. */
const FLAGS = ['trigger', 'permit', 'armed', 'touched_off', 'owned'] as const;
const STATES = MODE_ROWS.length * 2 ** FLAGS.length * 2;
/** Choices tried in each of them: anything at all, drawn at random. */
const CHOICES = 500;
const SEED = 23;

/** What the guard let through, from states that are made up. */
export interface GuardResult {
  readonly states: number;
  readonly transitions: number;
  /** Names of the broken invariants. */
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

/**
 * The invariants that the guard alone must keep: one tick from states that hold anything at all, as if the sequence had
 * failed.
 */
export function exploreGuard(module: ControlModule, kind: Kind): GuardResult {
  const controller = controllerOf(module, kind);
  const batch = new Batch(controller, makeTemplates(controller));
  const random = new Random(SEED, 0);
  const given = factsOf(kind);
  const broken = new Set<string>();
  const { table, digits } = drawn([...ALL_DIRECTIONS, CONTACT], CHOICES, () => random.uniform());
  for (let number = 0; number < STATES; number++) {
    const key = madeUp(number, random);
    const asked = new Map<number, readonly Invariant[]>();
    batch.runDrawn(key, table, digits, (_, after, facts) => {
      const invariants = asked.get(after) ?? GUARD_INVARIANTS.filter((one) => one.concerns(key, after));
      asked.set(after, invariants);
      for (const { name, kept } of invariants) if (!kept(facts | given, key, after)) broken.add(name);
    });
  }
  return { states: STATES, transitions: STATES * CHOICES, broken: [...broken] };
}

/** Keys in the order in which they were found, each with where it came from. */
class KeyTable {
  private readonly entries = new Map<number, { readonly parent: number; readonly choice: number }>();
  private readonly keys: number[] = [];

  get size(): number {
    return this.keys.length;
  }

  /** Adds a key, unless it is there already. */
  add(key: number, parent: number, choice: number): void {
    if (this.entries.has(key)) return;
    this.entries.set(key, { parent, choice });
    this.keys.push(key);
  }

  keyAt(entry: number): number {
    return this.keys[entry];
  }

  /** Entry and choice that first led here; -1 for the start. */
  originOf(entry: number) {
    return this.entries.get(this.keys[entry])!;
  }
}

interface ExploreOptions extends Kind {
  /** Ends after the first state in which an invariant of this name broke, or for true any; else every state is explored. */
  readonly until?: string | true;
  /** The module's tracked copy, where it is not the one that was built with it; null: every tick is run. */
  readonly tracked?: ControlModule | null;
}

/** Of a broken invariant the shortest way is kept, and the shortest from some other modes. */
const WAYS_KEPT = 3;

/** A tick that broke an invariant. */
interface Violation {
  readonly invariant: string;
  readonly before: number;
  readonly choice: number;
  readonly after: number;
}

export interface Exploration {
  readonly states: number;
  /** States with all that can happen in each; every invariant was checked in all of them. */
  readonly transitions: number;
  /** Ticks that were run for that: in the others what is different is nothing that a tick has looked at. */
  readonly ticks: number;
  /** In the order in which they were found: of each invariant the shortest way first. */
  readonly violations: readonly Violation[];
  readonly refusals: ReadonlySet<number>;
  /** Mode changes that were found: for each mode a bit set of the modes that follow it. */
  readonly next_modes: readonly number[];
  readonly table: KeyTable;
  /** Choices in the state of a key. */
  readonly choicesOf: (key: number) => ChoiceTable;
}

/** The invariants that have something to say about a change from one key to another. */
const concerned = (before: number, after: number): readonly Invariant[] =>
  INVARIANTS.filter((invariant) => invariant.concerns(before, after));

/**
 * Explores, breadth first, everything that can happen in every state that can be reached. Sound for what the invariants
 * speak of: timers of any length, switches that chatter for any time, any height of Z, eight classes of voltage.
 */
export function explore(module: ControlModule, options: ExploreOptions): Exploration {
  const { until } = options;
  const runner = new TickRunner(module, options, options.tracked);
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
  let ticks = 0;
  let at = 0;
  let key = 0;
  /** Invariants to check in the ticks from the present key, by the key after them. */
  const invariants = new Map<number, readonly Invariant[]>();
  const found = (after: number, choice: number): readonly Invariant[] => {
    table.add(after, at, choice);
    next_modes[key & 15] |= 1 << (after & 15);
    const asked = concerned(key, after);
    invariants.set(after, asked);
    return asked;
  };
  const given = factsOf(options);
  const onSighting = (choice: number, after: number, sighted: number) => {
    const facts = sighted | given;
    const asked = invariants.get(after) ?? found(after, choice);
    refusals.add(refusalOf(facts));
    for (let index = 0; index < asked.length; index++) {
      const { name, kept } = asked[index];
      if (!kept(facts, key, after)) breaks(name, choice, after);
    }
  };
  table.add(runner.start(), -1, -1);
  const stand_again = FAULT_ROWS.filter(({ latches_stop }) => latches_stop);
  for (; at < table.size; at++) {
    key = table.keyAt(at);
    const choices = runner.choicesOf(key);
    invariants.clear();
    ticks += runner.stepAll(key, choices, onSighting);
    transitions += choices.count;
    if (violations.some(({ invariant }) => until === true || invariant === until)) break;
    // Restarts come last: the fewest ticks to anything are those from power-up.
    if (at === table.size - 1) for (const { code } of stand_again.splice(0)) table.add(runner.start(code), -1, -1);
  }
  return {
    states: table.size,
    transitions,
    ticks,
    violations,
    refusals,
    next_modes,
    table,
    choicesOf: (one) => runner.choicesOf(one),
  };
}

/** A mode, stage, hold, fault or refusal, and the fewest ticks in which it is reached; null: never. */
export interface Reached {
  readonly kind: 'mode' | 'stage' | 'hold' | 'fault' | 'refusal';
  readonly name: string;
  readonly ticks: number | null;
}

/** Why these two are never reached in an exploration. */
export const NOT_REACHED: Readonly<Record<string, string>> = {
  'fault not-finite': 'no finite state and input gives an infinite number or NaN; a test puts one into the state',
  'refusal parameters': 'the parameters explored agree with each other; a test sets some that do not',
};

/** How soon everything that has a name is reached. */
export function reached(exploration: Exploration): Reached[] {
  const { table } = exploration;
  const depth = new Int32Array(table.size);
  const least = new Map<string, number>();
  const note = (kind: string, code: number, ticks: number) => {
    const word = `${kind} ${code}`;
    if (!least.has(word)) least.set(word, ticks);
  };
  // Entries are in the order of their depth.
  for (let entry = 0; entry < table.size; entry++) {
    const { parent } = table.originOf(entry);
    if (parent >= 0) depth[entry] = depth[parent] + 1;
    const key = table.keyAt(entry);
    for (const kind of ['mode', 'stage', 'hold', 'fault'] as const) note(kind, fieldOf(key, kind), depth[entry]);
  }
  const rows = { mode: MODE_ROWS, stage: STAGE_ROWS, hold: HOLD_ROWS, fault: FAULT_ROWS } as const;
  const found = (Object.keys(rows) as (keyof typeof rows)[]).flatMap((kind) =>
    rows[kind].map(({ code, name }): Reached => ({ kind, name, ticks: least.get(`${kind} ${code}`) ?? null })),
  );
  const refusals = REFUSAL_ROWS.map(
    ({ code, name }): Reached => ({ kind: 'refusal', name, ticks: exploration.refusals.has(code) ? 1 : null }),
  );
  return [...found, ...refusals];
}

/** The changes of mode as a Mermaid state diagram. @param next for each mode a bit set of the modes that follow it */
export function modeGraph(next: readonly number[]): string {
  const lines = MODE_ROWS.flatMap(({ code, name }) =>
    MODE_ROWS.filter((other) => other.code !== code && ((next[code] ?? 0) & (1 << other.code)) !== 0).map(
      (other) => `    ${name} --> ${other.name}`,
    ),
  );
  return ['stateDiagram-v2', '    [*] --> rest', ...lines, ''].join('\n');
}
