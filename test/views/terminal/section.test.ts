import { describe, expect, it } from 'vitest';
import { PathRing } from '../../../sim/views/terminal/rings.js';
import { drawSection, LABEL_COLUMNS, sectionScale } from '../../../sim/views/terminal/section.js';
import { Picture } from '../../../sim/views/text/index.js';

const REGION = { row: 0, column: 0, columns: 65, rows: 12 };
const ASCII = { unicode: false, colour: false };

/** A flat sheet, cut along 100 mm, the torch 1.5 mm above it; `gap` from 70 to 74 mm of path. */
function straightCut(gap: number, torch_mm = 1.5): PathRing {
  const ring = new PathRing();
  for (let path_mm = 0; path_mm < 100; path_mm += 0.05)
    ring.add(path_mm, 0, path_mm > 60 ? torch_mm : 1.5, 1.5, path_mm >= 70 && path_mm < 74 ? gap : 0, 0);
  return ring;
}

function drawn(ring: PathRing, torch_mm: number, burning = true): string[] {
  const picture = new Picture(REGION.columns, REGION.rows, ASCII);
  const torch = { path_mm: 99.9, torch_mm, plate_mm: 0, burning };
  drawSection(picture, REGION, ring, torch, sectionScale(REGION, ring, torch), 3);
  return picture.lines();
}

describe('the section', () => {
  it('interrupts the sheet where metal is gone, and only there', () => {
    const whole = drawn(straightCut(0), 1.5);
    const cut = drawn(straightCut(1), 1.5);
    const surface = whole.findIndex((line) => /[="_]{20}/.test(line));
    expect(surface).toBeGreaterThan(0);
    expect(whole[surface].slice(LABEL_COLUMNS, 50)).not.toMatch(/\s/);
    // 4 mm of gap at 60 mm over 60 columns.
    expect(cut[surface].slice(LABEL_COLUMNS, 50)).toMatch(/\S {3,4}\S/);
  });

  it('draws the way of the tip apart from the dots of the target when the torch is too low', () => {
    const low = drawn(straightCut(0, 0.6), 0.6);
    const row = (pattern: RegExp) => low.findIndex((line) => pattern.test(line));
    const target = row(/: :|::/);
    const trace = low.findLastIndex((line) => /[-`.]{10}/.test(line));
    expect(target).toBeGreaterThanOrEqual(0);
    expect(trace).toBeGreaterThan(target);
  });

  it('draws the arc between tip and sheet only while it burns', () => {
    expect(drawn(straightCut(0), 3.5, true).join('')).toContain('!');
    expect(drawn(straightCut(0), 3.5, false).join('')).not.toContain('!');
  });

  it('names a torch that is far above the sheet and keeps the scale of the sheet', () => {
    const lines = drawn(straightCut(0), 24.8, false);
    expect(lines[0]).toContain('^ tip 24.8 mm above the sheet');
    expect(lines.join('')).not.toContain('#');
  });

  it('writes that over whatever is drawn there', () => {
    const ring = new PathRing();
    // Another contour, whose way of the tip leaves the picture at the top.
    for (let path_mm = 60; path_mm < 80; path_mm += 0.05) {
      ring.add(path_mm, 0, 1.5, 1.5, 0, 0);
      ring.add(path_mm, 0, 30, 1.5, 0, 0);
    }
    for (let path_mm = 80; path_mm < 100; path_mm += 0.05) ring.add(path_mm, 0, 1.5, 1.5, 0, 1);
    expect(drawn(ring, 24.8, false)[0]).toContain('^ tip 24.8 mm above the sheet');
  });

  it('states how much larger heights are drawn: length for a dot over height for a dot', () => {
    const ring = straightCut(0);
    const scale = sectionScale(REGION, ring, { path_mm: 99.9, torch_mm: 1.5, plate_mm: 0, burning: true });
    expect(scale.mm_per_dot_across).toBeCloseTo(60 / 120, 9);
    expect(scale.exaggeration).toBeCloseTo(scale.mm_per_dot_across / scale.mm_per_dot_up, 9);
    // The sheet and the target above it lie inside the plot.
    expect(scale.bottom_mm).toBeLessThan(0);
    expect(scale.bottom_mm + 48 * scale.mm_per_dot_up).toBeGreaterThan(1.5);
  });

  it('takes its scale from the contour under the torch, not from the one before it', () => {
    const ring = new PathRing();
    for (let path_mm = 0; path_mm < 100; path_mm += 0.05)
      ring.add(path_mm, path_mm < 60 ? 12 : 0, path_mm < 60 ? 13.5 : 1.5, 1.5, 0, path_mm < 60 ? 0 : 1);
    const torch = { path_mm: 99.9, torch_mm: 1.5, plate_mm: 0, burning: true };
    expect(sectionScale(REGION, ring, torch)).toEqual(sectionScale(REGION, straightCut(0), torch));
    // Where the contour begins a line of colons says so, seen in the air above the sheet.
    const column = LABEL_COLUMNS + Math.floor((60 - sectionScale(REGION, ring, torch).left_mm) / 0.5 / 2);
    for (const line of drawn(ring, 1.5).slice(0, 4)) expect(line[column]).toBe(':');
  });
});
