import { describe, expect, it } from 'vitest';
import { INPUT_REQUEST, OUTPUT_MEASURED_FEED_MM_S, OUTPUT_Z_VELOCITY_MM_S } from '../../firmware/wire/layout.gen.js';
import { parameterId, Rig } from './rig.js';

describe('the speed of Z', () => {
  it.each<[string, Readonly<Record<string, number>>]>([
    ['the default axis', {}],
    ['a soft axis', { z_acceleration_mm_s2: 200, z_velocity_mm_s: 30 }],
    ['a soft axis of few steps', { z_acceleration_mm_s2: 200, z_steps_per_mm: 20, z_velocity_mm_s: 20 }],
    [
      'a lift that begins at pierce height',
      { touch_offset_mm: 2.96, pierce_height_mm: 3, cut_height_mm: 2.97, z_steps_per_mm: 100 },
    ],
  ])('never changes harder than z_acceleration_mm_s2 from the touch-off to the hand-back: %s', (_, axis) => {
    const rig = new Rig({ pierce_ms: 50, ...axis }).ready();
    const most_mm_s = rig.controller.parameter(parameterId('z_acceleration_mm_s2')) * 0.001;
    let before_mm_s = 0;
    const follow = (mode: string) => {
      for (let n = 0; n < 30_000 && rig.mode !== mode; n++) {
        rig.tick();
        const now_mm_s = rig.real(OUTPUT_Z_VELOCITY_MM_S);
        // f32 of tens of mm/s.
        const limit_mm_s = most_mm_s + 1e-4;
        if (Math.abs(now_mm_s - before_mm_s) > limit_mm_s) expect.fail(`${rig.mode}: ${before_mm_s} → ${now_mm_s}`);
        before_mm_s = now_mm_s;
      }
    };
    rig.plant = true;
    rig.on(INPUT_REQUEST);
    follow('settle');
    rig.x_steps = 8;
    follow('follow');
    rig.off(INPUT_REQUEST);
    rig.x_steps = 0;
    follow('rest');
    expect(rig.mode).toBe('rest');
  });
});

describe('the feed', () => {
  it.each([
    [10, 0],
    [0, -10],
    [6, 8],
    [-6, 8],
  ])('of X %i and Y %i steps a tick is the length of the vector', (x_steps, y_steps) => {
    const rig = new Rig().ready();
    rig.x_steps = x_steps;
    rig.y_steps = y_steps;
    // 10 steps of 1/160 mm in a millisecond, after 30 time constants of 12 ms.
    expect(rig.run(400).real(OUTPUT_MEASURED_FEED_MM_S)).toBeCloseTo(62.5, 3);
  });

  it('takes each axis by its own steps for a millimetre', () => {
    const rig = new Rig({ x_steps_per_mm: 160, y_steps_per_mm: 80 }).ready();
    rig.x_steps = 6;
    rig.y_steps = 4;
    expect(rig.run(400).real(OUTPUT_MEASURED_FEED_MM_S)).toBeCloseTo(62.5, 3);
  });
});
