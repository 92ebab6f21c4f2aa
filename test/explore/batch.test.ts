import { describe, expect, it } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { Batch } from '../../sim/explore/batch.js';
import { optionsOf } from '../../sim/explore/choices.js';
import { explore } from '../../sim/explore/explorer.js';
import { fieldOf } from '../../sim/explore/key.js';
import { controllerOf, KINDS, TickRunner } from '../../sim/explore/ticks.js';
import { makeTemplates } from '../../sim/explore/world.js';
import { loadControlModule } from '../../sim/run/controller/index.js';

const module = loadControlModule();
const STATES = 60;
const CHOICES = 400;

describe.each(KINDS)('the quick loop, contact $supply_contact, learned $target_learned', (kind) => {
  const { table } = explore(module, kind);
  const runner = new TickRunner(module, kind, null);
  const controller = controllerOf(module, kind);
  const batch = new Batch(controller, makeTemplates(controller));
  const random = new Random(5, 1);
  /** A state of each mode, stage and trigger, and others at random. */
  const keys = new Map<string, number>();
  for (let entry = 0; entry < table.size; entry++) {
    const key = table.keyAt(entry);
    keys.set(['mode', 'stage', 'trigger', 'owned'].map((name) => fieldOf(key, name as never)).join(), key);
  }
  for (let at = 0; at < STATES; at++) keys.set(String(at), table.keyAt(Math.floor(random.uniform() * table.size)));

  it('sees what single ticks see: the same keys and facts, each first under the same choice', () => {
    for (const key of keys.values()) {
      const choices = runner.choicesOf(key);
      const { directions } = choices;
      const all = directions.reduce((product, { length }) => product * length, 1);
      const drawn = Array.from({ length: CHOICES }, () => Math.floor(random.uniform() * all));
      const slow = new Map<string, number>();
      for (const [at, choice] of drawn.entries()) {
        const seen = `${runner.step(key, choices, choice)} ${runner.facts}`;
        if (!slow.has(seen)) slow.set(seen, at);
      }
      const digits = drawn.flatMap((choice) =>
        optionsOf(choices, choice).map((option, at) => directions[at].indexOf(option)),
      );
      const quick = new Map<string, number>();
      batch.runDrawn(key, choices, Uint8Array.from(digits), (at, after, facts) => {
        quick.set(`${after} ${facts}`, at);
      });
      expect(quick).toEqual(slow);
    }
  });

  it('runs as many ticks as there are choices', () => {
    for (const key of keys.values()) {
      const choices = runner.choicesOf(key);
      expect(runner.stepAll(key, choices, () => {})).toBe(choices.count);
    }
  });
});

describe('the part of its page that the control module does not need', () => {
  it('is never touched by it', () => {
    const runner = new TickRunner(module, KINDS[0], null);
    // The build's lowMemoryLimit; below it stands what follows from the parameters.
    const page = new Uint8Array(runner.controller.linked.memory.buffer, 4608, 65_536 - 4608);
    page.fill(0xa5);
    const { table } = explore(module, KINDS[0]);
    for (let entry = 0; entry < table.size; entry += 50) {
      const key = table.keyAt(entry);
      const { count } = runner.choicesOf(key);
      for (let choice = 0; choice < count; choice += 97) runner.step(key, runner.choicesOf(key), choice);
    }
    expect(page.every((byte) => byte === 0xa5)).toBe(true);
  });
});
