import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ArcTime, arcWithin_s, busiestWindow, studyDuty, timeLine } from '../../sim/electrical/duty.js';

/** Cuts and gaps in whole seconds, so that every second can be looked at. */
const arcs = fc
  .array(fc.tuple(fc.integer({ min: 1, max: 200 }), fc.integer({ min: 1, max: 150 })), { minLength: 1, maxLength: 30 })
  .map((pairs) => {
    let now_s = 0;
    return pairs.map(([gap_s, length_s], n): ArcTime => {
      const from_s = now_s + gap_s;
      now_s = from_s + length_s;
      return { from_s, to_s: now_s, line: n + 1 };
    });
  });
const percent = fc.integer({ min: 30, max: 100 });

/** Every window of ten minutes that ends on a whole second. */
const mostOf = (list: readonly ArcTime[]) => {
  let most_s = 0;
  for (let end_s = 0; end_s <= Math.ceil(list.at(-1)!.to_s); end_s++) {
    most_s = Math.max(most_s, arcWithin_s(list, end_s - 600, end_s));
  }
  return most_s;
};

describe('the duty cycle of a program', () => {
  it('is that of the busiest ten minutes, wherever they lie', () => {
    fc.assert(
      fc.property(arcs, (list) => {
        expect(busiestWindow(list).busiest_s).toBeCloseTo(mostOf(list), 6);
      }),
      { seed: 2026 },
    );
  });

  it('is kept with the pauses in, in any ten minutes', () => {
    fc.assert(
      fc.property(arcs, percent, (list, allowed) => {
        const { paced, too_long, allowed_s } = studyDuty(list, allowed);
        fc.pre(too_long.length === 0);
        expect(busiestWindow(paced).busiest_s).toBeLessThanOrEqual(allowed_s + 1e-5);
        // Nothing was cut shorter or let overlap.
        for (const [n, { from_s, to_s }] of paced.entries()) {
          expect(to_s - from_s).toBeCloseTo(list[n].to_s - list[n].from_s, 6);
          if (n > 0) expect(from_s).toBeGreaterThanOrEqual(paced[n - 1].to_s);
        }
      }),
      { seed: 2026 },
    );
  });

  it('asks for no longer pause than is needed', () => {
    let paused = 0;
    fc.assert(
      fc.property(arcs, percent, (list, allowed) => {
        const { paced, pauses, too_long, allowed_s } = studyDuty(list, allowed);
        fc.pre(too_long.length === 0);
        for (const { before, pause_s } of pauses) {
          paused++;
          expect(pause_s).toBeGreaterThan(0);
          const hasty = paced.slice(0, before + 1);
          const { from_s, to_s, line } = hasty[before];
          hasty[before] = { from_s: from_s - 0.01, to_s: to_s - 0.01, line };
          expect(busiestWindow(hasty).busiest_s).toBeGreaterThan(allowed_s + 0.005);
        }
      }),
      { seed: 2026 },
    );
    expect(paused).toBeGreaterThan(50);
  });

  it('asks for none where it is kept as it stands', () => {
    fc.assert(
      fc.property(arcs, percent, (list, allowed) => {
        const { busiest_s, allowed_s, pauses, paced } = studyDuty(list, allowed);
        if (busiest_s <= allowed_s) expect([pauses, paced]).toEqual([[], list]);
        else expect(pauses.length).toBeGreaterThan(0);
      }),
      { seed: 2026 },
    );
  });

  it('names a single cut that is too long for any pause', () => {
    const { too_long } = studyDuty([{ from_s: 0, to_s: 400, line: 7 }], 60);
    expect(too_long).toEqual([7]);
    expect(studyDuty([{ from_s: 0, to_s: 1000, line: 7 }], 100)).toMatchObject({ too_long: [], pauses: [] });
  });

  it('says how often a program can be cut again and again', () => {
    expect(studyDuty([{ from_s: 5, to_s: 65, line: 1 }], 40).repeat_s).toBeCloseTo(150, 9);
  });
});

describe('the time line', () => {
  it('holds all of the arc and of the pauses, whatever its steps', () => {
    fc.assert(
      fc.property(arcs, percent, fc.integer({ min: 10, max: 120 }), (list, allowed, steps) => {
        const study = studyDuty(list, allowed);
        const paused_s = study.pauses.reduce((sum, { pause_s }) => sum + pause_s, 0);
        const { step_s, arc, pause, used } = timeLine(study, study.paced.at(-1)!.to_s, steps);
        const sum = (shares: readonly number[]) => shares.reduce((all, share) => all + share * step_s, 0);
        expect(sum(arc)).toBeCloseTo(study.arc_s, 6);
        expect(sum(pause)).toBeCloseTo(paused_s, 6);
        if (study.too_long.length === 0) expect(Math.max(...used)).toBeLessThanOrEqual(1 + 1e-6);
      }),
      { seed: 2026 },
    );
  });
});
