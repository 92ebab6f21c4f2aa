// What is no wrong way, though one thing of it is there: Z has to move, the error to grow, and both at once.
import { describe, expect, it } from 'vitest';
import { INPUT_HOLD } from '../../firmware/wire/layout.gen.js';
import { Rig, SLOPE_V_PER_MM } from './rig.js';

/** Follows a level sheet without lockouts: the regulator alone answers. One step a tick is 6.25 mm/s. */
function following(x_steps: number, parameters: Readonly<Record<string, number>> = {}): Rig {
  const lockouts = { corner_fraction: 0, feed_effect_V: 0, crossing_rise_mm_per_s: 0, crossing_band_mm: 0 };
  const rig = new Rig({ ...lockouts, ...parameters }).at('follow');
  rig.x_steps = x_steps;
  return rig.run(1500);
}

const rise = (rig: Rig, rise_mm: number, ticks: number): Rig =>
  rig.run(ticks, () => {
    rig.sheet_mm += rise_mm / ticks;
  });

describe('the implied sheet goes no wrong way', () => {
  it('while Z is so slow that it has hardly moved: a voltage that is 2 mm too high for 80 ms', () => {
    const rig = following(8, { follow_down_mm_s: 1 });
    rig
      .run(60, () => {
        rig.extra_V += (2 * SLOPE_V_PER_MM) / 60;
      })
      .run(20);
    rig.extra_V = 0;
    expect(rig.run(300).fault).toBe('none');
  });

  it('while the error shrinks, on a sheet of 0.5 mm/mm that the torch was 1.2 mm too near to', () => {
    const hold = { up_band_mm: 5, external_path_mm: 100 };
    const rig = following(1, { ...hold, gain_p_per_s: 4, gain_i_per_s2: 0 })
      .on(INPUT_HOLD)
      .run(50);
    rise(rig, 1.2, 20).run(60).off(INPUT_HOLD);
    expect(rise(rig, 2.2, 700).fault).toBe('none');
  });

  it('over two steps of the sheet of which Z has answered the first: 0.5 and 1.2 mm, 100 ms apart', () => {
    const rig = following(2);
    rise(rig, 0.5, 20).run(100);
    expect(Math.abs(rig.standoff_mm - 1.5)).toBeLessThan(0.2);
    expect(rise(rig, 1.2, 20).run(150).fault).toBe('none');
  });
});
