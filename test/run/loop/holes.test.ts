// Small holes and closed contours at low feed: the arc comes over its own kerf so slowly that no rise of the voltage tells it.
import { describe, expect, it } from 'vitest';
import { cut } from './cut.js';

const program = (feed: number, ...lines: string[]) =>
  ['G21 G90 G17', `F${feed}`, ...lines, 'M5', 'G4 P1', 'M30', ''].join('\n');
const hole = (diameter_mm: number, feed: number) => {
  const r = diameter_mm / 2;
  return program(feed, 'G0 X80 Y80', 'M3', `G1 X${80 + r}`, `G3 X${80 + r} Y80 I${-r} J0`);
};
/** The lead-in is crossed at the end, and the first side cut again for 3 mm. */
const square = (feed: number) =>
  program(feed, 'G0 X100 Y92', 'M3', 'G1 Y100', 'G1 X130', 'G1 Y140', 'G1 X70', 'G1 Y100', 'G1 X103');
const NOISE = { 'noise.white_V_rms_per_tick': 1, 'noise.ripple_V_peak': 2 };
const TILTED = { 'sheet.tilt_x': 0.05, 'sheet.tilt_y': -0.05, ...NOISE };
const WAVY = { 'sheet.wave_mm': 2.5, 'sheet.wave_length_mm': 200, ...NOISE };

describe.each([
  ['tilted', TILTED],
  ['wavy', WAVY],
])('over a %s sheet', (_, world) => {
  it.each([3, 4, 6, 10, 20].flatMap((mm) => [500, 800, 1000, 1500].map((feed) => [mm, feed] as const)))(
    'a hole of %i mm at F%i is cut without a fault, and not low',
    (mm, feed) => {
      for (const seed of [1, 2]) {
        const run = cut(hole(mm, feed), { world, seed });
        expect(run).toMatchObject({ broken: [], faults: [], figures: { contacts: 0 } });
        expect(run.figures.least_standoff_mm).toBeGreaterThan(0.95);
      }
    },
  );
});

describe('the end of a closed contour', () => {
  it.each([15, 25, 35, 45].flatMap((volts) => [500, 1000, 3000].map((feed) => [volts, feed] as const)))(
    'with a crossing of %i V at F%i is no fault and no dive',
    (crossing_V, feed) => {
      const run = cut(square(feed), {
        box: { arc_high_V: 250 },
        world: { ...TILTED, 'arc.crossing_V': crossing_V },
      });
      expect(run).toMatchObject({ broken: [], faults: [], figures: { contacts: 0 } });
      expect(run.figures.least_standoff_mm).toBeGreaterThan(0.95);
    },
  );
});

describe('a reading that jumps', () => {
  it('in a small hole is no crossing of it: the cut ends within its bound', () => {
    const run = cut(hole(6, 500), { faults: [{ kind: 'resistor-top-short', at_s: 7.4 }] });
    expect(run).toMatchObject({ broken: [], faults: ['crossing-long'] });
  });
});
