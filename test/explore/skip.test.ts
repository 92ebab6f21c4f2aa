import { describe, expect, it } from 'vitest';
import { OUTPUT_BYTES } from '../../firmware/wire/layout.gen.js';
import { Random } from '../../sim/base/index.js';
import { pack } from '../../sim/explore/batch.js';
import { counterexampleOf } from '../../sim/explore/counterexample.js';
import { type Exploration, explore } from '../../sim/explore/explorer.js';
import { FIELDS, marksOf, trackedCopyOf } from '../../sim/explore/loop.js';
import { KINDS, TickRunner } from '../../sim/explore/ticks.js';
import { makeTemplates } from '../../sim/explore/world.js';
import {
  type ControlModule,
  controlModule,
  loadControlModule,
  WasmController,
} from '../../sim/run/controller/index.js';
import { buildModule } from '../mutants/build.js';
import { MUTANTS } from '../mutants/rows.js';
import { amount, someOf } from '../support/volume.js';
import { trackedOf } from './tracked.js';

const module = loadControlModule();
/** The kind with the fewest choices. */
const KIND = { supply_contact: false, target_learned: false };

/** Made before any module is built here: the compiler leaves options of its own in the optimizer that both use. */
const made = trackedOf(module);
const DEFECTIVE = ['handed-back-beside', 'permit-at-pierce-height', 'no-external-hold', 'fault-rises-with-chain-open'];

/** Everything that an exploration found, in its order. */
function all({ table, violations, refusals, next_modes, transitions, ...rest }: Exploration) {
  const exploration = { table, violations, refusals, next_modes, transitions, ...rest };
  return {
    transitions,
    states: Array.from({ length: table.size }, (_, at) => [table.keyAt(at), table.originOf(at)]),
    violations: violations.map((one) => [one, counterexampleOf(exploration, one.before, one.choice, one.after)]),
    refusals: [...refusals].sort((a, b) => a - b),
    next_modes,
  };
}

const quick = explore(module, KIND);

describe('an exploration that skips', () => {
  // All that an exploration is made of: its states, ways, refusals and changes of mode follow from this alone.
  it('finds in each state, key by key and fact by fact, what one that runs every tick finds', () => {
    const [skipping, walking] = [new TickRunner(module, KIND), new TickRunner(module, KIND, null)];
    // The one that skips comes to all of them, as in an exploration: what it has seen in one it uses in others.
    for (let entry = 0; entry < quick.table.size; entry++) {
      const key = quick.table.keyAt(entry);
      const seenBy = (runner: TickRunner) => {
        const seen = new Map<string, number>();
        runner.stepAll(key, runner.choicesOf(key), (choice, after, facts) => {
          const words = `${after} ${facts}`;
          if (!seen.has(words)) seen.set(words, choice);
        });
        return seen;
      };
      const seen = seenBy(skipping);
      if (entry % amount(1, 16, 4) === 0) expect(seen).toEqual(seenBy(walking));
    }
  });

  it('runs less than a third of the ticks', () => {
    expect(quick.ticks).toBeGreaterThan(1000);
    expect(quick.ticks).toBeLessThan(quick.transitions / 3);
  });

  it.each(amount(DEFECTIVE, DEFECTIVE.slice(0, 1), DEFECTIVE.slice(0, 2)))(
    'finds the same violations and counterexamples in a module with a defect: %s',
    async (name) => {
      const defective = controlModule(await buildModule(MUTANTS.find((mutant) => mutant.name === name)!));
      expect(trackedCopyOf(defective)).toBeUndefined();
      // By volume the whole of the first; else as far as the first violation: the whole of each takes a minute of a core.
      const kind = amount(true, false, false) && name === DEFECTIVE[0] ? KIND : { ...KIND, until: true as const };
      const skipped = explore(defective, { ...kind, tracked: trackedOf(defective) });
      expect(skipped.violations.length).toBeGreaterThan(0);
      expect(skipped.ticks).toBeLessThan(skipped.transitions / 2);
      const whole = explore(defective, kind);
      expect(whole.ticks).toBe(whole.transitions);
      expect(all(skipped)).toEqual(all(whole));
    },
  );
});

/** State and output of a runner’s controller. */
function words({ controller }: TickRunner): Int32Array {
  return Int32Array.from([
    ...new Int32Array(controller.state().buffer, controller.state().byteOffset, controller.state().length / 4),
    ...controller.output.integers,
  ]);
}

/**
 * Ticks of states of one kind and choices at random, by the module and by a tracked copy of it; then with another option in a direction.
 * @returns what a tick of the copy does otherwise, and what is different although it was not marked
 */
function compared(copy: ControlModule, kind: (typeof KINDS)[number], ticks: number) {
  const { table } = quick;
  const [plain, marked] = [new TickRunner(module, kind, null), new TickRunner(copy, kind, null)];
  const templates = makeTemplates(new WasmController(module));
  const { linked } = marked.controller;
  const marks = marksOf(marked.controller)!;
  const page = new Int32Array(linked.memory.buffer);
  const random = new Random(7, 3);
  const below = (n: number) => Math.floor(random.uniform() * n);
  const other_ticks: string[] = [];
  const unmarked: string[] = [];
  let unlooked = 0;
  for (let tick = 0; tick < ticks; tick++) {
    const key = table.keyAt(below(table.size));
    const choices = plain.choicesOf(key);
    const packed = pack(choices, templates);
    page.set(packed.loop.MARK_IMAGE, (marks.marks() + linked.state()) / 4);
    page.set(packed.input_marks, (marks.marks() + linked.input()) / 4);
    page.set(packed.line_marks, marks.line_marks() / 4);
    page.fill(0, marks.met() / 4, marks.met() / 4 + 2);
    const { directions } = choices;
    const places = directions.map((_, at) => directions.slice(0, at).reduce((n, { length }) => n * length, 1));
    const digits = directions.map(({ length }) => below(length));
    const number = () => digits.reduce((sum, digit, at) => sum + digit * places[at], 0);
    marked.step(key, choices, number());
    plain.step(key, choices, number());
    const [before, of_copy] = [words(plain), words(marked)];
    if (before.some((word, at) => word !== of_copy[at])) other_ticks.push(`${key} ${number()}`);
    const met = page[marks.met() / 4];
    const of_words = [
      ...page.subarray(
        (marks.marks() + linked.state()) / 4,
        (marks.marks() + linked.state()) / 4 + before.length - OUTPUT_BYTES / 4,
      ),
      ...page.subarray((marks.marks() + linked.output()) / 4, (marks.marks() + linked.output() + OUTPUT_BYTES) / 4),
    ];
    for (const [direction, { length }] of directions.entries()) {
      const digit = digits[direction];
      if ((met >>> direction) & 1) continue;
      unlooked++;
      digits[direction] = (digit + 1 + below(length - 1)) % length;
      plain.step(key, choices, number());
      words(plain).forEach((word, at) => {
        const free = ((of_words[at] >>> direction) & 1) === 0;
        if (free && word !== before[at])
          unmarked.push(`${key} ${number()}: ${directions[direction][0].say} word ${at}`);
      });
      digits[direction] = digit;
    }
  }
  return { other_ticks, unmarked, unlooked };
}

/** A digital input by its bit; a word of the state. */
const FORGOTTEN: readonly (readonly [string, (text: string) => boolean])[] = [
  ['the stop chain', (text: string) => text.startsWith('(i32.and') && text.includes('(i32.const 4)')],
  // The request is read through a call in places, whose text does not name the bit.
  ['the key', (text: string) => text.startsWith('(i32.and') && text.includes('(i32.const 1)')],
  ['what puts outputs to rest', (text: string) => text.startsWith('(i32.and') && text.includes('(i32.const 2048)')],
  ['the seated torch', (text: string) => text.startsWith('(i32.load') && text.includes(`(i32.const ${wordAt(21)})`)],
];

describe('the tracked copy', () => {
  it.each(someOf(KINDS, KINDS.length))(
    'gives the same ticks, bit for bit, and marks all that a direction changes: %o',
    (kind) => {
      const copy = trackedCopyOf(module)!;
      const { other_ticks, unmarked, unlooked } = compared(copy, kind, 1000);
      expect(unlooked).toBeGreaterThan(1000);
      expect(other_ticks).toEqual([]);
      expect(unmarked).toEqual([]);
    },
  );

  it('is that of the module as built, made by the tracker as it is', () => {
    expect(Buffer.from(trackedCopyOf(module)!.bytes).equals(Buffer.from(made.bytes))).toBe(true);
  });

  it.each(someOf(FORGOTTEN, 2))('shows it when %s is read and not marked', (_, forgets) => {
    expect(compared(trackedOf(module, forgets), KIND, 1000).unmarked).not.toEqual([]);
  });
});

/** Address of a word of the state. */
function wordAt(word: number): number {
  return new WasmController(module).linked.state() + 4 * word;
}

it('marks of directions and of fields of the key have no bit in common', () => {
  expect(FIELDS & 1).toBe(0);
});
