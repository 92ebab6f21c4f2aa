// A start measures the arc over the end of the lowering and the torch that stands.
import { describe, expect, it } from 'vitest';
import { ARC, Arcing, FOUND } from './arcing.js';
import { CUT_V, SLOPE_V_PER_MM } from './rig.js';

/** What a torch at rest tells: the voltage at cut height with the whole feed effect. */
const STANDING_V = CUT_V + ARC.extra_V + ARC.feed_V;
/** Ticks of the moving mean at 50 Hz, and two of the sampling. */
const MEAN_TICKS = 12;

/** A start with a ready rig. @param disturbed_V is added in the last ticks of a lowering of so many. @returns what it found, V, and the ticks of its lowering */
function start(rig: Arcing, arc = ARC, disturbed_V = 0, disturbed_from = Number.POSITIVE_INFINITY) {
  rig.arc = arc;
  rig.touchOff().until('lower');
  let ticks = 0;
  for (; rig.mode === 'lower'; ticks++) {
    if (ticks >= disturbed_from) rig.arc = { ...arc, extra_V: arc.extra_V + disturbed_V };
    rig.tick();
  }
  rig.arc = arc;
  rig.run(30);
  const found_V = rig.found_V + rig.state('feed_effect_V');
  rig.end();
  return { found_V, ticks };
}

describe('the first sample of a contour', () => {
  it('is the arc’s voltage where nothing disturbs it', () => {
    expect(start(new Arcing(FOUND).ready()).found_V).toBeCloseTo(STANDING_V, 0);
  });

  it('feels a third at most of what stands in one moving mean only', () => {
    const sound = start(new Arcing(FOUND).ready());
    const disturbed = start(new Arcing(FOUND).ready(), ARC, 2, sound.ticks - MEAN_TICKS);
    expect(disturbed.found_V - sound.found_V).toBeGreaterThan(0.1);
    expect(disturbed.found_V - sound.found_V).toBeLessThan(2 / 3);
  });

  it('goes by the V/mm that the strokes told, not by what a person told', () => {
    const [least, told, most] = [0.7, 1, 1.3].map(
      (share) => start(new Arcing({ ...FOUND, arc_slope_V_per_mm: share * SLOPE_V_PER_MM }).ready()).found_V,
    );
    expect(Math.abs((least as number) - (told as number))).toBeLessThan(0.1);
    expect(Math.abs((most as number) - (told as number))).toBeLessThan(0.1);
  });

  it('knows nothing of the contour before, also where the whole lowering is near', () => {
    const rig = new Arcing({ ...FOUND, pierce_height_mm: 2 }).ready();
    const first = start(rig);
    const other = start(rig, { ...ARC, extra_V: ARC.extra_V - 6 });
    expect(Math.abs(first.found_V - 6 - other.found_V)).toBeLessThan(0.4);
  });
});
