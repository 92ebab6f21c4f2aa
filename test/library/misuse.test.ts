import { describe, expect, it } from 'vitest';
import {
  exampleSetup,
  Judge,
  loadControlModule,
  motionLimits,
  parseProgram,
  planProgram,
  Requirement,
  type RunOptions,
  requirementContext,
  run,
  StandoffError,
  type StandoffErrorCode,
  WasmController,
} from '../../sim/index.js';

const { box, machine, world } = exampleSetup();
const plan = planProgram(parseProgram('G21 G90 G0 X5\nM2\n', 'a.nc'), motionLimits(machine));
const controller = new WasmController(loadControlModule());
const good: RunOptions = { box, machine, world, plan, seed: 1, controller };

/** What a program without a compiler may give. */
const given = (changes: object): RunOptions => ({ ...good, ...changes }) as RunOptions;

function refused(work: () => unknown): StandoffError {
  try {
    work();
  } catch (error) {
    if (error instanceof StandoffError) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

describe('a run that a program asks for with a wrong name or value', () => {
  const fault = (changes: object) => ({ world: { ...world, faults: [{ at_s: 1, ...changes }] } });
  it.each<[StandoffErrorCode, string, object, string]>([
    ['fault-kind', 'nonsense', fault({ kind: 'nonsense' }), 'open-lead'],
    ['fault-time', '-1', fault({ kind: 'open-lead', at_s: -1 }), 'at_s'],
    ['fault-value', '7', fault({ kind: 'lost-steps', value: 7 }), '0 to 1'],
    ['fault-value', '7', fault({ kind: 'open-lead', value: 7 }), 'none'],
    ['parameter-unknown', 'pierse_ms', { box: { ...box, pierse_ms: 3 } }, 'parameters'],
    ['parameter-range', '-3', { box: { ...box, pierce_ms: -3 } }, '0 to 5000 ms'],
    ['parameter-range', 'NaN', { box: { ...box, pierce_ms: Number.NaN } }, '0 to 5000 ms'],
    ['path-unknown', 'axle', { machine: { ...machine, axis: { ...machine.axis, axle: 1 } } }, 'rows'],
    ['path-unknown', 'world.art', { world: { ...world, art: { a: 1 } } }, 'rows'],
    ['value-type', 'undefined', { machine: { ...machine, axis: undefined } }, 'number'],
    ['value-type', 'NaN', { machine: { ...machine, axis: { ...machine.axis, travel_mm: Number.NaN } } }, 'mm'],
    ['operator-line', 'kee', { operator: [{ at_s: 0, line: 'kee', on: true }] }, 'key'],
  ])('is refused by %s, with the value %s', (code, value, changes, remedy) => {
    const error = refused(() => run(given(changes), []));
    expect(error.code).toBe(code);
    expect(error.what).toContain(value);
    expect(error.remedy).toContain(remedy);
  });

  it('runs with what is right', () => {
    expect(run(good, []).ended).toBe('finished');
  });

  it('does not compile', () => {
    // @ts-expect-error: no parameter is called so
    const wrong_name = { ...good, box: { ...box, pierse_ms: 3 } } satisfies RunOptions;
    // @ts-expect-error: no such kind
    const wrong_kind = { kind: 'nonsense', at_s: 1 } satisfies (typeof world.faults)[number];
    // @ts-expect-error: no such code
    const wrong_code = () => new StandoffError('setup-nonsense', '', '');
    expect([wrong_name, wrong_kind, wrong_code]).toHaveLength(3);
  });
});

describe('requirements of somebody’s own', () => {
  const context = requirementContext();
  it('are refused when they are none, or their name is taken', () => {
    class Same extends Requirement {
      readonly name: string = 'no-contact';
      readonly number = 0;
      readonly statement = '';
      readonly unit = '';
      override readonly checked_unit = 'times';
      override watch(): void {}
    }
    expect(refused(() => new Judge(context, undefined, [{} as Requirement])).code).toBe('requirement-form');
    expect(refused(() => new Judge(context, undefined, [null as unknown as Requirement])).code).toBe(
      'requirement-form',
    );
    expect(refused(() => new Judge(context, undefined, [new Same(context)])).code).toBe('requirement-name');
  });
});
