import { readdirSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { angleOf, Rotation } from '../../../sim/world/motion/index.js';

describe('trigonometry by arithmetic', () => {
  it('agrees with the sine and cosine of the engine to a few roundings over several turns', () => {
    const rotation = new Rotation();
    let worst = 0;
    for (let step = -200_000; step <= 200_000; step++) {
      const angle_rad = step * 6.5e-5;
      rotation.set(angle_rad);
      worst = Math.max(
        worst,
        Math.abs(rotation.sine - Math.sin(angle_rad)),
        Math.abs(rotation.cosine - Math.cos(angle_rad)),
      );
    }
    // Two turns of 6.3 rad have a rounding of 9e-16 themselves.
    expect(worst).toBeLessThan(2e-15);
  });

  it('keeps a rotation of length one', () => {
    fc.assert(
      fc.property(fc.double({ min: -20, max: 20, noNaN: true }), (angle_rad) => {
        const rotation = new Rotation();
        rotation.set(angle_rad);
        // Two squares, each rounded.
        expect(Math.abs(rotation.sine ** 2 + rotation.cosine ** 2 - 1)).toBeLessThan(1e-15);
      }),
    );
  });

  it('finds the angle of any direction as the engine does', () => {
    let worst = 0;
    for (let step = -3141; step <= 3141; step++) {
      const angle_rad = step / 1000;
      const x = 7 * Math.cos(angle_rad);
      const y = 7 * Math.sin(angle_rad);
      worst = Math.max(worst, Math.abs(angleOf(x, y) - Math.atan2(y, x)));
    }
    // A few roundings of π.
    expect(worst).toBeLessThan(2e-15);
  });

  it('finds the angles of the axes and gives 0 for no direction', () => {
    expect(angleOf(1, 0)).toBe(0);
    expect(angleOf(0, 2)).toBeCloseTo(Math.PI / 2, 15);
    expect(angleOf(-3, 0)).toBeCloseTo(Math.PI, 15);
    expect(angleOf(0, -1)).toBeCloseTo(-Math.PI / 2, 15);
    expect(angleOf(0, 0)).toBe(0);
  });

  it('is the only trigonometry of the room, for engines differ in theirs', () => {
    const room = new URL('../../../sim/world/motion/', import.meta.url);
    const files = readdirSync(room).filter((name) => name.endsWith('.ts'));
    expect(files.length).toBeGreaterThan(5);
    for (const name of files) {
      const code = readFileSync(new URL(name, room), 'utf8').replace(/\/\*\*[\s\S]*?\*\//g, '');
      expect(code, name).not.toMatch(/Math\.(sin|cos|tan|a?sinh?|acos|atan2?|exp|log\w*|pow|hypot|cbrt)\b|\*\*/);
    }
  });
});
