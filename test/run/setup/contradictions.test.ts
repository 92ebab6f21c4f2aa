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
import { loadControlModule, WasmController } from '../../../sim/run/controller/index.js';
import { setParameters } from '../../../sim/run/loop/index.js';
import { firstContradiction } from '../../../sim/run/setup/contradictions.js';
import { defaultSetup } from '../../../sim/run/setup/index.js';
import { SECTION_ROWS } from '../../../sim/run/setup/schema.js';

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
