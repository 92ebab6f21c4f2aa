import { describe, expect, it } from 'vitest';
import { Random } from '../../sim/base/index.js';
import { optionsOf, rowOf } from '../../sim/explore/choices.js';
import { explore } from '../../sim/explore/explorer.js';
import { fieldOf } from '../../sim/explore/key.js';
import { KINDS, TickRunner } from '../../sim/explore/ticks.js';
import { loadControlModule } from '../../sim/run/controller/index.js';

const module = loadControlModule();
const STATES = 60;

describe.each(KINDS)('the quick loop, contact $supply_contact, learned $target_learned', (kind) => {
  const { table } = explore(module, kind);
  const runner = new TickRunner(module, kind);
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
      const slow = new Map<string, number>();
      for (let choice = 0; choice < choices.count; choice++) {
        const seen = `${runner.step(key, choices, choice)} ${runner.facts}`;
        if (!slow.has(seen)) slow.set(seen, choice);
      }
      const quick = new Map<string, number>();
      runner.stepAll(key, choices, (choice, after, facts) => {
        const seen = `${after} ${facts}`;
        if (!quick.has(seen)) quick.set(seen, choice);
      });
      expect(quick).toEqual(slow);
    }
  });

  it('has in each row of a table what its options say', () => {
    for (const key of keys.values()) {
      const choices = runner.choicesOf(key);
      for (let at = 0; at < 20; at++) {
        const choice = Math.floor(random.uniform() * choices.count);
        const { width, words, rows } = rowOf(optionsOf(choices, choice));
        const row = choices.rows.subarray(choice * choices.width, (choice + 1) * choices.width);
        expect(row.subarray(0, 3)).toEqual(rows.subarray(0, 3));
        for (const [column, word] of choices.words.entries()) {
          const own = words.indexOf(word);
          expect(row[3 + column]).toBe(own < 0 ? 0 : rows[width - words.length + own]);
        }
      }
    }
  });
});

describe('the part of the page that the quick loop uses', () => {
  it('is never touched by the control module', () => {
    const runner = new TickRunner(module, KINDS[0]);
    const page = new Uint8Array(runner.controller.linked!.memory.buffer, 4096);
    page.fill(0xa5);
    const { table } = explore(module, KINDS[0]);
    for (let entry = 0; entry < table.size; entry += 50) {
      const key = table.keyAt(entry);
      const choices = runner.choicesOf(key);
      for (let choice = 0; choice < choices.count; choice += 7) runner.step(key, choices, choice);
    }
    expect(page.every((byte) => byte === 0xa5)).toBe(true);
  });
});
