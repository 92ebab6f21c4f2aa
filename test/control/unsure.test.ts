// A target that is not known yet: what the box does over the first millimetres of a contour.
import { describe, expect, it } from 'vitest';
import { INPUT_HOLD } from '../../firmware/wire/layout.gen.js';
import { ARC, Arcing, FOUND } from './arcing.js';

/** A first contour at this feed from its start on. */
function started(parameters: Readonly<Record<string, number>>, arc = ARC): Arcing {
  const rig = new Arcing({ ...FOUND, corner_fraction: 0, ...parameters });
  rig.arc = arc;
  rig.begin();
  return rig;
}

describe('a target that is not known yet', () => {
  it('is learned also while Z is limited: by height nobody looks otherwise', () => {
    const rig = started({ external_path_mm: 0.2 }).on(INPUT_HOLD);
    rig.x_steps = 8;
    let learned = 0;
    let limited = 0;
    rig.run(300, () => {
      if (rig.hold !== 'limited') return;
      limited++;
      if (rig.state('Ruler.measures') === 1) learned++;
    });
    expect(limited).toBeGreaterThan(200);
    expect(learned).toBeGreaterThan(150);
  });

  it('is raised without a fall, however fast', () => {
    const rig = started({ gain_p_per_s: 0, gain_i_per_s2: 0, crossing_rise_mm_per_s: 0, crossing_band_mm: 0 });
    rig.x_steps = 8;
    rig.run(400);
    const fall_mm = () => rig.state('against_seen_mm') - rig.state('seen_mm') - rig.state('doubt_mm');
    const before_mm = fall_mm();
    rig.run(48, () => rig.disturb('Ruler.deviation_mm', 2));
    expect(rig.state('doubt_mm')).toBeGreaterThan(0.4);
    expect(Math.abs(fall_mm() - before_mm)).toBeLessThan(0.05);
  });
});
