import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { MODE_FOLLOW, MODE_HOLD, MODE_PIERCE, MODE_REST, MODE_SETTLE } from '../../firmware/wire/codes.gen.js';
import { FLAG_ACCELERATION_LIMITED, FLAG_VELOCITY_LIMITED, OUTPUT_TRIGGER } from '../../firmware/wire/layout.gen.js';
import { CROSSING_AFTER_MS } from '../../sim/judge/index.js';
import { figuresOf, judge, verdict } from './judge.js';
import type { MadeRow } from './made-cut.js';

/** Following with the arc on at cut height, 0.05 mm of path a tick. */
function cut(ticks: number, row: (tick: number) => MadeRow = () => ({}), mode = MODE_FOLLOW): MadeRow[] {
  return Array.from({ length: ticks }, (_, tick) => ({
    mode,
    digital_outputs: OUTPUT_TRIGGER,
    burning: 1,
    contour: 0,
    line: 9,
    standoff_mm: 1.5,
    corner_mm: 1e6,
    path_mm: tick * 0.05,
    ...row(tick),
  }));
}

/** f32 keeps 1.5 ± 0.1 mm to 1e-7 mm. */
const F32 = 6;

describe('standoff error', () => {
  it('is standoff minus cut height: rms, mean, percentiles and worst', () => {
    const figures = figuresOf(cut(1000, (tick) => ({ standoff_mm: tick < 990 ? 1.6 : 1.2 })));
    expect(figures.standoff_error_rms_mm).toBeCloseTo(Math.sqrt((990 * 0.01 + 10 * 0.09) / 1000), F32);
    expect(figures.standoff_error_mean_mm).toBeCloseTo((990 * 0.1 - 10 * 0.3) / 1000, F32);
    // Rounded up to the end of a bin of 0.001 mm.
    expect(figures.standoff_error_p95_mm).toBe(0.101);
    expect(figures.standoff_error_p999_mm).toBe(0.3);
    expect(figures.standoff_error_worst_mm).toBeCloseTo(0.3, F32);
    expect(figures.following_s).toBe(1);
    expect(figures.out_of_tolerance_s).toBe(0.01);
  });

  it.each([
    ['while the arc meets metal that is gone', { crossing: 1 }],
    ['beyond the sheet', { off_sheet: 1 }],
    ['in a hold', { mode: MODE_HOLD }],
    ['while settling', { mode: MODE_SETTLE }],
  ])('does not count %s', (_, change) => {
    const figures = figuresOf(cut(200, (tick) => (tick < 100 ? {} : { standoff_mm: 3, ...change })));
    expect(figures.standoff_error_worst_mm).toBe(0);
    expect(figures.following_s).toBe(0.1);
  });

  it('counts settle, hold and crossings in the error of the cut, but nothing beyond the sheet', () => {
    const change = (tick: number) =>
      [{}, { mode: MODE_SETTLE }, { mode: MODE_HOLD, crossing: 1 }, { off_sheet: 1 }][tick % 4];
    const figures = figuresOf(cut(400, (tick) => ({ standoff_mm: tick % 4 === 3 ? 9 : 1.6, ...change(tick) })));
    expect(figures.cut_error_rms_mm).toBeCloseTo(0.1, F32);
  });

  it('is null when nothing was followed', () => {
    expect(figuresOf(cut(100, () => ({}), MODE_PIERCE))).toMatchObject({
      standoff_error_rms_mm: null,
      standoff_error_mean_mm: null,
      standoff_error_p95_mm: null,
      standoff_error_p999_mm: null,
      standoff_error_worst_mm: null,
      cut_error_rms_mm: null,
      corner_dive_mm: null,
      kerf_crossing_dive_mm: null,
      least_standoff_mm: null,
      reversals_per_s: null,
      acceleration_limited_share: null,
    });
  });

  it('has percentiles that agree with sorted errors to a thousandth of a millimetre', () => {
    fc.assert(
      fc.property(
        fc.array(fc.float({ min: 0, max: Math.fround(0.5), noNaN: true }), { minLength: 1, maxLength: 300 }),
        (sizes) => {
          const standoffs = sizes.map((size) => Math.fround(1.5 + size));
          const figures = figuresOf(cut(sizes.length, (tick) => ({ standoff_mm: standoffs[tick] })));
          const sorted = standoffs.map((standoff) => standoff - 1.5).sort((a, b) => a - b);
          const exact = sorted[Math.ceil(0.95 * sorted.length) - 1];
          expect(figures.standoff_error_p95_mm! - exact).toBeGreaterThan(0);
          expect(figures.standoff_error_p95_mm! - exact).toBeLessThanOrEqual(0.001 + 1e-9);
        },
      ),
      { numRuns: 30 },
    );
  });
});

describe('dives', () => {
  it('takes the deepest dive within 12 mm of path from a corner', () => {
    const rows = cut(900, (tick) => ({
      corner_mm: Math.abs(tick - 450) * 0.05,
      standoff_mm: 1.5 - (tick === 450 ? 0.25 : 0.1),
    }));
    const figures = figuresOf(rows);
    expect(figures.corner_dive_mm).toBeCloseTo(0.25, F32);
    expect(figures.corners).toBe(1);
    // The 300th row before the corner is 15 mm away.
    rows[150].standoff_mm = 0.5;
    expect(figuresOf(rows).corner_dive_mm).toBeCloseTo(0.25, F32);
    rows[211].standoff_mm = 0.5;
    expect(figuresOf(rows).corner_dive_mm).toBeCloseTo(1, F32);
  });

  it('counts a corner once, also when a crossing lies in it', () => {
    const rows = cut(1000, (tick) => ({
      corner_mm: Math.abs(tick - 500) * 0.02,
      crossing: tick >= 400 && tick < 450 ? 1 : 0,
    }));
    expect(figuresOf(rows)).toMatchObject({ corners: 1, crossings: 1 });
  });

  it('is 0, and not negative, at a corner where the torch only rises', () => {
    expect(figuresOf(cut(100, () => ({ corner_mm: 1, standoff_mm: 2 }))).corner_dive_mm).toBe(0);
  });

  const crossing = (dive_at: number, path_per_tick = 0.01) =>
    figuresOf(
      cut(2000, (tick) => ({
        crossing: tick >= 100 && tick < 200 ? 1 : 0,
        path_mm: tick * path_per_tick,
        standoff_mm: tick === dive_at ? 1.1 : 1.5,
        corner_mm: 3,
      })),
    );

  it.each([
    [99, false],
    [100, true],
    [199, true],
    [200 + CROSSING_AFTER_MS, true],
    [201 + CROSSING_AFTER_MS, false],
  ])('gives a dive in tick %i to the crossing: %s; the corner has the others', (tick, of_crossing) => {
    const figures = crossing(tick);
    expect(figures.crossings).toBe(1);
    expect(figures.kerf_crossing_dive_mm).toBeCloseTo(of_crossing ? 0.4 : 0, F32);
    expect(figures.corner_dive_mm).toBeCloseTo(of_crossing ? 0 : 0.4, F32);
  });

  it('ends a crossing after 15 mm of path, when that is sooner', () => {
    // 0.125 mm a tick is exact in f32: 15 mm are 120 ticks.
    expect(crossing(320, 0.125).kerf_crossing_dive_mm).toBeCloseTo(0.4, F32);
    expect(crossing(321, 0.125).kerf_crossing_dive_mm).toBe(0);
  });

  it('counts no dive beyond the sheet, nor while piercing', () => {
    for (const change of [{ off_sheet: 1 }, { mode: MODE_PIERCE }]) {
      const figures = figuresOf(cut(100, () => ({ corner_mm: 1, crossing: 1, standoff_mm: 0.5, ...change })));
      expect(figures).toMatchObject({ corner_dive_mm: null, kerf_crossing_dive_mm: null });
    }
  });
});

describe('counts of a run', () => {
  it('counts arcs, arc time and the path cut', () => {
    const rows = cut(1000, (tick) => ({ burning: tick < 300 || tick >= 500 ? 1 : 0 }));
    const figures = figuresOf(rows);
    expect(figures.starts).toBe(2);
    expect(figures.arc_on_s).toBe(0.8);
    // From tick 0 to 299 and from tick 499 to 999.
    expect(figures.cut_length_mm).toBeCloseTo((299 + 500) * 0.05, 4);
  });

  it('counts a reversal for each turn of Z in follow, whatever stands still in between', () => {
    const steps = [1, 0, 0, -1, -1, 0, 2, -3];
    const figures = figuresOf(cut(1000, (tick) => ({ z_steps: tick < steps.length ? steps[tick] : 0 })));
    expect(figures.reversals_per_s).toBe(3);
  });

  it('does not count a turn across a hold as a reversal', () => {
    const rows = [
      ...cut(10, () => ({ z_steps: 1 })),
      ...cut(10, () => ({}), MODE_HOLD),
      ...cut(10, () => ({ z_steps: -1 })),
    ];
    expect(figuresOf(rows).reversals_per_s).toBe(0);
  });

  it('takes the share of follow at each limit', () => {
    const figures = figuresOf(
      cut(1000, (tick) => ({
        flags: (tick < 50 ? FLAG_ACCELERATION_LIMITED : 0) | (tick < 20 ? FLAG_VELOCITY_LIMITED : 0),
      })),
    );
    expect(figures).toMatchObject({ acceleration_limited_share: 0.05, velocity_limited_share: 0.02 });
  });

  it('tells holds by cause with count, time and path', () => {
    const holds = (tick: number) => (tick < 100 ? 1 : tick < 150 ? 0 : tick < 200 ? 1 : tick < 300 ? 2 : 0);
    const figures = figuresOf(cut(1000, (tick) => ({ hold: holds(tick) })));
    expect(figures.holds.map(({ cause, count, time_s }) => ({ cause, count, time_s }))).toEqual([
      { cause: 'corner', count: 2, time_s: 0.15 },
      { cause: 'crossing', count: 1, time_s: 0.1 },
    ]);
    expect(figures.holds[1].length_mm).toBeCloseTo(5, 4);
  });

  it('tells each fault once, with what the box saw and where the program was', () => {
    const rows = cut(100, (tick) => ({ fault: tick < 40 ? 0 : tick < 60 ? 7 : 12, measured_V: tick, line: tick }));
    expect(figuresOf(rows).faults).toEqual([
      { tick: 40, code: 7, name: 'arc-lost', measured_V: 40, contour: 0, line: 40 },
      { tick: 60, code: 12, name: 'voltage-at-rest', measured_V: 60, contour: 0, line: 60 },
    ]);
  });

  it('takes the least standoff only where an arc burns over the sheet in the cut', () => {
    const low = [{ burning: 0 }, { off_sheet: 1 }, { mode: MODE_PIERCE }];
    for (const change of low) {
      expect(figuresOf(cut(10, (tick) => (tick === 5 ? { standoff_mm: 0.1, ...change } : {}))).least_standoff_mm).toBe(
        1.5,
      );
    }
    expect(figuresOf(cut(10, (tick) => (tick === 5 ? { standoff_mm: 0.5 } : {}))).least_standoff_mm).toBe(0.5);
  });

  it('takes contacts and lost steps from the end of the run', () => {
    expect(figuresOf(cut(10, (tick) => ({ contacts: tick > 5 ? 2 : 0, lost_steps: -tick })))).toMatchObject({
      contacts: 2,
      lost_steps: 9,
    });
  });

  it('measures the longest release of the firing contact, and holds it against the machine', () => {
    const release = (ms: number) => [
      ...cut(10, () => ({ relay: 1 })),
      ...cut(ms, () => ({ relay: 1, digital_outputs: 0 })),
      ...cut(50, () => ({ digital_outputs: 0 })),
    ];
    expect(figuresOf(release(7)).relay_release_ms).toBe(7);
    expect(verdict('relay-release', release(9))).toMatchObject({ kept: true, margin: 0, checked: 1 });
    expect(verdict('relay-release', release(10))).toMatchObject({ kept: false, kind: 'goal' });
  });

  it('counts a firing contact that never opens to the end of the run', () => {
    const welded = [...cut(10, () => ({ relay: 1 })), ...cut(500, () => ({ relay: 1, digital_outputs: 0 }), MODE_REST)];
    expect(figuresOf(welded).relay_release_ms).toBe(500);
  });
});

describe('contours', () => {
  const rows = [
    ...cut(10, () => ({ contour: -1, burning: 0, path_mm: 0 }), MODE_REST),
    ...cut(1000, (tick) => ({
      contour: 0,
      line: 10 + (tick > 500 ? 1 : 0),
      standoff_mm: 1.6,
      hold: tick < 100 ? 1 : 0,
    })),
    ...cut(500, (tick) => ({
      contour: 1,
      line: 20,
      path_mm: 49.95 + tick * 0.05,
      standoff_mm: 1.4,
      burning: tick > 9 ? 1 : 0,
    })),
  ];

  it('have their own length, starts, errors, holds and faults', () => {
    const [first, second] = figuresOf(rows).contours;
    expect(first).toMatchObject({ contour: 0, line: 10, starts: 1, arc_on_s: 1, faults: [] });
    expect(first.length_mm).toBeCloseTo(49.95, 3);
    expect(first.standoff_error_mean_mm).toBeCloseTo(0.1, F32);
    expect(first.standoff_error_p95_mm).toBe(0.101);
    expect(first.holds).toMatchObject([{ cause: 'corner', count: 1 }]);
    expect(second).toMatchObject({ contour: 1, line: 20, starts: 1, arc_on_s: 0.49, holds: [] });
    expect(second.standoff_error_mean_mm).toBeCloseTo(-0.1, F32);
    expect(second.least_standoff_mm).toBeCloseTo(1.4, F32);
  });

  it('add up to the run', () => {
    const figures = figuresOf(rows);
    expect(figures.contours).toHaveLength(2);
    expect(figures.starts).toBe(2);
    expect(figures.standoff_error_mean_mm).toBeCloseTo((1000 * 0.1 - 500 * 0.1) / 1500, F32);
    expect(figures.cut_length_mm).toBeCloseTo(
      figures.contours.reduce((sum, part) => sum + part.length_mm, 0),
      9,
    );
  });
});

describe('figures', () => {
  it('may be asked in between', () => {
    const { figures } = judge(cut(1000));
    expect(figures.figures().simulated_s).toBe(1);
    expect(figures.figures()).toEqual(figures.figures());
  });

  it('are held against the quality goals, with the sign of a margin', () => {
    const high = cut(1000, () => ({ standoff_mm: 1.56 }));
    expect(verdict('following-rms', high).margin).toBeCloseTo(0, F32);
    const higher = verdict(
      'following-rms',
      cut(1000, () => ({ standoff_mm: 1.6 })),
    );
    expect(higher).toMatchObject({ kept: false, kind: 'goal', unit: 'mm', checked: 1000 });
    expect(higher.margin).toBeCloseTo(-0.04, F32);
    expect(
      verdict(
        'following-p999',
        cut(1000, () => ({ standoff_mm: 1.7 })),
      ).margin,
    ).toBeCloseTo(-0.001, 9);
    const corner = cut(100, () => ({ corner_mm: 1, standoff_mm: 1.1 }));
    expect(verdict('corner-dive', corner).margin).toBeCloseTo(-0.1, F32);
    const kerf = cut(100, () => ({ crossing: 1, standoff_mm: 1.4 }));
    expect(verdict('kerf-crossing-dive', kerf).margin).toBeCloseTo(0.1, F32);
  });

  it('never take an error that is NaN for a good one', () => {
    const rows = cut(1000, (tick) => ({ standoff_mm: tick === 500 ? Number.NaN : 1.5 }));
    expect(verdict('following-rms', rows).kept).toBe(false);
  });
});
