import { describe, expect, it } from 'vitest';
import { controlModule } from '../../sim/run/controller/wasm.js';
import { cut, STRAIGHT } from '../run/loop/cut.js';
import { buildModule } from './build.js';
import { type Came, either, missedGoal, RequirementJudge } from './judge-requirements.js';
import { verdictOf } from './judge-tests.js';
import type { Mutant } from './mutant.js';
import { json, line, summaryText, type Verdict } from './report.js';
import { MUTANTS } from './rows.js';
import { SCENARIOS } from './scenarios.js';

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
      by: 'requirement',
      name: 'permit-height',
      scenario: 'straight: level sheet',
    });
    // A torch that meets the sheet is what an unpowered axis does, and motion without an arc what a table does that reads the permit
    // only once, when a hand has ended the cut: whatever the box wants.
    const watched = (name: string) =>
      SCENARIOS.find((one) => one.name === name)?.changes.machine?.['table.permit_watched'] !== false;
    const excused = requirements.soundBreaks.filter(({ scenario }) => watched(scenario));
    expect([...new Set(excused.flatMap((each) => each.requirements))]).toEqual(['no-contact']);
  }, 120_000);
});

describe('a goal that tells a defect', () => {
  const sound: Came = { requirement: [], goal: ['corner-dive'], finished: true, errors_mm: [0.1, null, -0.2] };

  it('is one that the sound module keeps, the end of the program, or a torch 0.2 mm further off in a contour', () => {
    expect(missedGoal(sound, sound)).toBeUndefined();
    expect(missedGoal(sound, { ...sound, goal: ['corner-dive', 'pierce-time'] })).toBe('pierce-time');
    expect(missedGoal(sound, { ...sound, finished: false })).toBe('finished');
    expect(missedGoal({ ...sound, finished: false }, { ...sound, finished: false })).toBeUndefined();
    expect(missedGoal(sound, { ...sound, errors_mm: [0.1, 0.3, -0.41] })).toBe('standoff-error');
    expect(missedGoal(sound, { ...sound, errors_mm: [-0.29, null] })).toBeUndefined();
  });

  it('is none that the sound module misses with other noise', () => {
    const other: Came = { requirement: ['floor'], goal: ['relay-release'], finished: false, errors_mm: [-0.3, 0.1, 0] };
    expect(either(sound, other)).toEqual({
      requirement: ['floor'],
      goal: ['corner-dive', 'relay-release'],
      finished: false,
      errors_mm: [0.3, null, 0.2],
    });
  });
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

describe('the suites in a process of their own', () => {
  const ended = { status: 0, signal: null, stdout: '', stderr: '' };

  it('say which test failed, or that none did', () => {
    expect(verdictOf(ended)).toBeUndefined();
    expect(verdictOf({ ...ended, status: 1, stdout: 'noise\narc.test.js: arc fails\n' })).toBe(
      'arc.test.js: arc fails',
    );
    expect(verdictOf({ ...ended, status: null, signal: 'SIGKILL' })).toBe('no end within 300 s');
  });

  it.each([
    ['with nothing said', { ...ended, status: 1 }],
    ['with another status', { ...ended, status: 2, stdout: 'x' }],
  ])('that end %s have not judged', (_, how) => {
    expect(() => verdictOf({ ...how, stderr: 'no such file' })).toThrow('the suites did not run: no such file');
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
    { index: 4, caught: { by: 'nothing', name: 'five does not compile' }, build_s: 0, judge_s: 0 },
    { index: 3, caught: { by: 'goal', name: 'pierce-time', scenario: 'late' }, build_s: 0.25, judge_s: 0.5 },
  ];
  const mutants = ['one', 'two', 'three', 'four', 'five'].map((name) => ({
    ...MUTANTS[0],
    name,
    plants: `plants ${name}`,
  }));

  it('is who caught each defect, how fast, and which survived', () => {
    expect(verdicts.map((verdict) => line(mutants[verdict.index], verdict).replace(/ +/g, ' '))).toEqual([
      ' 0.8 s one requirement floor in corner: level sheet',
      ' 2.3 s two test arc.test.ts: arc OK',
      ' 9.3 s three SURVIVED',
      ' 0.0 s five NOT JUDGED: five does not compile',
      ' 0.8 s four goal pierce-time in late',
    ]);
    expect(summaryText(mutants, verdicts, 12.4)).toBe(
      [
        '5 planted defects: 1 caught by a requirement, 1 by a goal, 1 by a test, 1 survived, 1 not judged; 12 s, 2.6 s for each',
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
