import { describe, expect, it } from 'vitest';
import { controlModule } from '../../sim/run/controller/wasm.js';
import { buildModule } from './build.js';
import { CAUSES } from './causes.js';
import { missedGoal, prepared, ScenarioCuts } from './judge-requirements.js';
import { CAUSE_MUTANTS } from './rows-causes.js';

const sound = new ScenarioCuts(controlModule(await buildModule()));

describe('a cause of the world', () => {
  it.each(CAUSES.map((cause) => [cause.name, cause] as const))(
    '%s hurts the loop that is weakened for it, and only with the cause',
    async (name, { program, changes, without, row, shown_by }) => {
      const weakened = new ScenarioCuts(
        controlModule(await buildModule(CAUSE_MUTANTS.find((one) => one.name === row)!)),
      );
      const hurts = (how: typeof changes): readonly (string | undefined)[] => {
        const run = prepared({ name, program, changes: how });
        const before = sound.cameTo(run);
        const came = weakened.cameTo(run);
        return [...came.requirement.filter((one) => !before.requirement.includes(one)), missedGoal(before, came)];
      };
      const kept = sound.cameTo(prepared({ name, program, changes }));
      expect([kept.requirement, kept.finished]).toEqual([[], true]);
      expect(hurts(without)).toEqual([undefined]);
      expect(hurts(changes)).toContain(shown_by);
    },
    30_000,
  );

  it('has a weakened loop of its own', () => {
    expect(CAUSES.map(({ row }) => row).sort()).toEqual(CAUSE_MUTANTS.map(({ name }) => name).sort());
  });
});
