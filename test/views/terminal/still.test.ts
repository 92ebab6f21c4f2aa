import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type SimulatedScene, stillPicture, ViewHistory } from '../../../sim/views/terminal/index.js';
import { atCorner, following, piercing, play, SCENE } from './made-trace.js';

const ASCII = { unicode: false, colour: false };

/** 200 mm of path, with a dive to 0.9 mm at a corner around 100 mm. */
function dived(): ViewHistory<SimulatedScene> {
  const history = new ViewHistory(SCENE);
  play(history, 4000, (tick) =>
    tick > 1980 && tick < 2020 ? atCorner(tick, 0.9) : following(tick, tick % 2 ? 1.47 : 1.53),
  );
  return history;
}

describe('the still picture', () => {
  it('shows the whole path and the section at the closest moment, with where and when', () => {
    const text = stillPicture(dived(), 80, ASCII).join('\n');
    expect(text).toContain('standoff along the whole path, target 1.50 +-0.20');
    expect(text).toContain('0.20 m of path');
    expect(text).toContain('closest: 0.90 mm at a corner, line 41, at 0:01');
    expect(text).toMatch(/heights x\d/);
  });

  it('marks the dive in the middle of the path, below target', () => {
    const lines = stillPicture(dived(), 80, ASCII);
    const target = lines.findIndex((line) => line.startsWith(' 1.5'));
    const deep = lines.findIndex((line, row) => row > target && /[\^#v]/.test(line));
    expect(deep).toBeGreaterThan(target);
    const column = lines[deep].search(/[\^#v]/);
    // Half of 75 columns behind 5 of labels, ± 2 for the width of the dive.
    expect(Math.abs(column - 42)).toBeLessThanOrEqual(2);
  });

  it('is nothing when nothing was cut', () => {
    const history = new ViewHistory(SCENE);
    expect(stillPicture(history, 80, ASCII)).toEqual([]);
    play(history, 200, piercing);
    expect(stillPicture(history, 80, ASCII)).toEqual([]);
  });

  it('fits every width from 40 on, in ASCII when asked', () => {
    const history = dived();
    fc.assert(
      fc.property(fc.integer({ min: 40, max: 240 }), (columns) => {
        for (const line of stillPicture(history, columns, ASCII)) {
          expect(line.length).toBeLessThanOrEqual(columns);
          expect(line).toMatch(/^[\x20-\x7e]*$/);
        }
        const unicode = stillPicture(history, columns, { unicode: true, colour: false });
        for (const line of unicode) expect([...line].length).toBeLessThanOrEqual(columns);
      }),
      { numRuns: 50 },
    );
  });
});
