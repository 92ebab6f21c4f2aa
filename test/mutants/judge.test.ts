import { describe, expect, it } from 'vitest';
import { controlModule } from '../../sim/run/controller/wasm.js';
import { cut, STRAIGHT } from '../run/loop/cut.js';
import { buildModule } from './build.js';
import { RequirementJudge } from './judge-requirements.js';
import { firstFailure } from './judge-tests.js';
import type { Mutant } from './mutant.js';
import { json, line, summaryText, type Verdict } from './report.js';
import { MUTANTS } from './rows.js';

const named = (name: string) => MUTANTS.find((mutant) => mutant.name === name)!;

describe('a module that is built with a defect', () => {
  it('is another than the sound one, and says so when it does not compile', async () => {
    const sound = await buildModule();
    expect(await buildModule()).toEqual(sound);
    expect(await buildModule(named('no-guard'))).not.toEqual(sound);
    const arbitrary: Mutant = { ...named('no-guard'), name: 'arbitrary', replacement: 'arbitrary();' };
    await expect(buildModule(arbitrary)).rejects.toThrow(/arbitrary does not compile.*arbitrary/s);
  });
});

describe('the requirements', () => {
  it('catch nothing in the sound module, and a planted defect with requirement and run', async () => {
    const requirements = await RequirementJudge.create();
    expect(requirements.judge(await buildModule())).toBeUndefined();
    expect(requirements.judge(await buildModule(named('permit-at-pierce-height')))).toEqual({
      requirement: 'permit-height',
      scenario: 'straight: level sheet',
    });
    // A torch that meets the sheet is what an unpowered axis does, whatever the box wants.
    const excused = requirements.soundBreaks.flatMap((each) => each.requirements);
    expect([...new Set(excused)]).toEqual(['no-contact']);
  }, 60_000);
});

describe('a requirement by what is true', () => {
  it.each([
    ['strikes-without-end', 'strike-count', { world: { 'arc.strike_fail_chance': 1 } }],
    ['strike-twice-as-long', 'strike-time', { world: { 'arc.strike_fail_chance': 1 } }],
    // Longer than the strokes of the proof, which keep a short dwell by themselves.
    ['pierce-unit', 'pierce-dwell', { box: { pierce_ms: 900 } }],
  ] as const)('catches %s by %s, which the sound module keeps', async (mutant, requirement, changes) => {
    expect(cut(STRAIGHT, changes).result(requirement)).toMatchObject({ kept: true });
    const module = controlModule(await buildModule(named(mutant)));
    expect(cut(STRAIGHT, { ...changes, module }).result(requirement)).toMatchObject({ kept: false });
  });
});

describe('a report of the suites', () => {
  const passed = { status: 'passed', fullName: 'arc passes' };
  const file = { name: 'test/control/arc.test.ts', status: 'passed', message: '', assertionResults: [passed] };

  it('is read for the first test that failed', () => {
    const failed = {
      ...file,
      status: 'failed',
      assertionResults: [passed, { status: 'failed', fullName: 'arc fails' }],
    };
    expect(firstFailure({ testResults: [file, failed] })).toBe('arc.test.ts: arc fails');
  });

  it('is read for the file that did not load when no test failed', () => {
    const broken = { ...file, status: 'failed', message: 'unreachable\nat tick', assertionResults: [] };
    expect(firstFailure({ testResults: [file, broken] })).toBe('arc.test.ts: unreachable');
    expect(firstFailure({ testResults: [file] })).toBe('the suite fails without a test that does');
  });
});

describe('what is told', () => {
  const verdicts: readonly Verdict[] = [
    {
      index: 0,
      caught: { by: 'requirement', name: 'floor', scenario: 'corner: level sheet' },
      build_s: 0.25,
      judge_s: 0.5,
    },
    { index: 1, caught: { by: 'test', name: 'arc.test.ts: arc OK' }, build_s: 0.25, judge_s: 2 },
    { index: 2, caught: null, build_s: 0.25, judge_s: 9 },
  ];
  const mutants = ['one', 'two', 'three'].map((name) => ({ ...MUTANTS[0], name, plants: `plants ${name}` }));

  it('is who caught each defect, how fast, and which survived', () => {
    expect(verdicts.map((verdict) => line(mutants[verdict.index], verdict).replace(/ +/g, ' '))).toEqual([
      ' 0.8 s one requirement floor in corner: level sheet',
      ' 2.3 s two test arc.test.ts: arc OK',
      ' 9.3 s three SURVIVED',
    ]);
    expect(summaryText(mutants, verdicts, 12.4)).toBe(
      [
        '3 planted defects: 1 caught by a requirement, 1 by a test, 1 survived; 12 s',
        `survived: three (${MUTANTS[0].file}): plants three`,
      ].join('\n'),
    );
  });

  it('is the same for a program', () => {
    const told = JSON.parse(json(mutants, verdicts, 'abc', 12.4));
    expect(told).toMatchObject({ module_sha256: 'abc', total_s: 12.4 });
    expect(told.mutants[2]).toEqual({
      name: 'three',
      file: MUTANTS[0].file,
      plants: 'plants three',
      caught: null,
      build_s: 0.25,
      judge_s: 9,
    });
  });
});
