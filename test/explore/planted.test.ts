import { describe, expect, it } from 'vitest';
import { controlModule } from '../../sim/controller/wasm.js';
import { explore } from '../../sim/explore/explorer.js';
import { replay } from '../../sim/explore/replay.js';
import { storyOf } from '../../sim/explore/story.js';
import { buildModule } from '../mutants/build.js';
import { MUTANTS } from '../mutants/rows.js';

/** What the walk finds in a module with a planted defect, with the story of the first broken rule. */
async function found(name: string) {
  const module = controlModule(await buildModule(MUTANTS.find((mutant) => mutant.name === name)!));
  const kind = { supply_contact: false, target_learned: false };
  const walk = explore(module, { ...kind, first_only: true });
  const [first] = walk.violations;
  if (first === undefined) return undefined;
  const story = storyOf(walk, first.before, first.choice, first.after);
  return { rule: first.invariant, story, replay: replay(module, kind, story) };
}

describe('a planted defect is found, with the shortest way to it, and confirmed with true timers', () => {
  it('a key that drops out for a moment arms the box', async () => {
    const { rule, story, replay: again } = (await found('key-drop-out-arms'))!;
    expect(rule).toBe('arming');
    expect(story.map(({ happens }) => happens)).toEqual(['the key is off; voltage: nothing', 'voltage: nothing']);
    expect(story[1]!.box).toBe('armed');
    expect(again).toEqual({ ticks: 2, steps: 2, broken: 'arming' });
  });

  it('a request that drops out for a tick counts as taken back', async () => {
    const { rule, story, replay: again } = (await found('request-drop-out-strikes'))!;
    expect(rule).toBe('request-taken-back');
    expect(story).toHaveLength(1);
    expect(again.broken).toBe('request-taken-back');
  });

  it('a fault is left with the request on', async () => {
    const { rule, story, replay: again } = (await found('reset-under-request'))!;
    expect(rule).toBe('fault-stays');
    expect(story.at(-1)!.happens).toContain('reset is pressed');
    expect(again.broken).toBe('fault-stays');
  });
});
