import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { REFUSAL_NONE, REFUSAL_PARAMETERS } from '../../../firmware/wire/codes.gen.js';
import {
  INPUT_BREAKAWAY,
  INPUT_KEY,
  INPUT_STOP_CHAIN,
  INPUT_TOP,
  OUTPUT_REFUSAL,
} from '../../../firmware/wire/layout.gen.js';
import { PARAMETER_ROWS } from '../../../firmware/wire/parameter-rows.js';
import { brokenPairs } from '../../../firmware/wire/relation-rows.js';
import { loadControlModule, WasmController } from '../../../sim/run/controller/index.js';
import { setParameters } from '../../../sim/run/loop/index.js';
import { firstContradiction } from '../../../sim/run/setup/contradictions.js';
import { defaultSetup, readSetup } from '../../../sim/run/setup/index.js';
import { SECTION_ROWS } from '../../../sim/run/setup/schema.js';
import { thrownBy } from '../../support/thrown.js';

const module = loadControlModule();
const SOUND = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;

/** What the box says to a request when nothing but its parameters can be in the way. */
function refusalOf(box: Readonly<Record<string, number>>): number {
  const controller = new WasmController(module);
  setParameters(controller, box);
  controller.readings.fill(box.reading_zero_counts);
  for (const lines of [SOUND, SOUND | INPUT_KEY]) {
    controller.digital_inputs = lines;
    for (let tick = 0; tick < 50; tick++) controller.tick();
  }
  return controller.output.integers[OUTPUT_REFUSAL / 4];
}

/** Parameters that may contradict each other; the zero is whole, so that the reading at rest is 0 V. */
const NAMES = [
  ...['rest_V', 'arc_low_V', 'target_V', 'arc_high_V', 'cut_height_mm', 'pierce_height_mm'],
  ...[
    'seek_slow_mm_s',
    'seek_fast_mm_s',
    'seek_travel_mm',
    'travel_mm',
    'follow_down_mm_s',
    'z_velocity_mm_s',
    'z_steps_per_mm',
  ],
];
const boxes = fc
  .tuple(
    ...NAMES.map((name) => {
      const row = SECTION_ROWS.box.find(({ path }) => path === `box.${name}`)!;
      const whole = fc.integer({ min: Math.ceil(row.min), max: Math.floor(row.max) });
      return fc.option(fc.oneof(whole, fc.double({ min: row.min, max: row.max, noNaN: true })), { freq: 2 });
    }),
  )
  .map((values) => {
    const stated = NAMES.flatMap((name, index) => (values[index] === null ? [] : [[name, values[index]] as const]));
    return { ...defaultSetup().box, ...Object.fromEntries(stated) } as Record<string, number>;
  });

describe('a contradiction between parameters', () => {
  it('is none in the defaults', () => {
    expect(firstContradiction(defaultSetup().box)).toBeUndefined();
    expect(refusalOf(defaultSetup().box)).toBe(REFUSAL_NONE);
  });

  it('is called one by the host exactly when the box refuses to start', () => {
    const seen = new Set<number>();
    fc.assert(
      fc.property(boxes, (box) => {
        const refusal = refusalOf(box);
        seen.add(refusal);
        expect(refusal).toBe(firstContradiction(box) ? REFUSAL_PARAMETERS : REFUSAL_NONE);
      }),
      { numRuns: 2000 },
    );
    expect([...seen].sort()).toEqual([REFUSAL_NONE, REFUSAL_PARAMETERS].sort());
  });

  it('is the first of the broken pairs, as the module says it', () => {
    fc.assert(
      fc.property(boxes, (box) => {
        const [first] = brokenPairs(box);
        const said = firstContradiction(box);
        // What the board can put out is looked at last, and is no pair of these rows.
        if (first === undefined) expect(said?.paths ?? ['box.z_velocity_mm_s']).toContain('box.z_velocity_mm_s');
        else expect(said?.paths).toEqual(first.map((id) => `box.${PARAMETER_ROWS[id].name}`));
      }),
      { numRuns: 2000 },
    );
  });

  it('is told with all others at once, each with its place, its values and what to do', () => {
    const text = ['box:', '  target_V: 250', '  seek_slow_mm_s: 10', '  seek_fast_mm_s: 5', '  cut_height_mm: 5'].join(
      '\n',
    );
    const error = thrownBy(() => readSetup(text, 'mine.yaml'));
    expect(error.code).toBe('setup-contradiction');
    expect(error.what.split('; and ').map((one) => one.split(' (')[0])).toEqual([
      'mine.yaml:2:13: box.target_V',
      'mine.yaml:5:18: box.cut_height_mm',
      'mine.yaml:4:19: box.seek_slow_mm_s',
    ]);
    expect(error.remedy.match(/change one of them: /g)).toHaveLength(3);
  });

  it.each([
    ['two equal values that must differ', { target_V: 60, arc_low_V: 60 }, true],
    ['two equal values that may be equal', { cut_height_mm: 3, pierce_height_mm: 3 }, false],
    ['Z steps that just find room in a millisecond', { z_velocity_mm_s: 81, z_steps_per_mm: 1000 }, false],
    ['a step a second more', { z_velocity_mm_s: 81.001, z_steps_per_mm: 1000 }, true],
    ['a difference that 32 bits do not hold', { target_V: 100.00000001, arc_low_V: 100 }, true],
  ])('is decided as the box does for %s', (_name, values, contradicts) => {
    const box = { ...defaultSetup().box, ...values } as Record<string, number>;
    expect(firstContradiction(box) !== undefined).toBe(contradicts);
    expect(refusalOf(box) === REFUSAL_PARAMETERS).toBe(contradicts);
  });

  it('of Z speed and Z steps is told with the numbers', () => {
    const box = { ...defaultSetup().box, z_velocity_mm_s: 150, z_steps_per_mm: 1600 };
    expect(firstContradiction(box)).toMatchObject({
      paths: ['box.z_velocity_mm_s', 'box.z_steps_per_mm'],
      what: 'box.z_velocity_mm_s (150 mm/s) times box.z_steps_per_mm (1600 1/mm) is 240 steps a millisecond, above the 81 that the box can put out',
    });
  });
});
