import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { highestRatio, lowestRatio } from '../../sim/electrical/budget.js';
import { tapOf } from '../../sim/electrical/circuit.js';
import { DEFAULT_LIMITS, dataSheet, LIMIT_ROWS, type Limits, searchDesigns } from '../../sim/electrical/index.js';
import { limitFigures, violatedLimits } from '../../sim/electrical/search.js';
import { machineWith, USE } from './machine.js';

const series = fc.constantFrom(24, 48);
const parts = fc
  .record({
    series,
    'supply.no_load_V': fc.integer({ min: 150, max: 480 }),
    'divider.tolerance_percent': fc.constantFrom(0.1, 0.5, 1, 2),
    'divider.drift_ppm_per_K': fc.constantFrom(10, 25, 50),
    'divider.resistor_W': fc.constantFrom(0.1, 0.25, 0.5),
    'divider.resistor_V': fc.constantFrom(100, 200, 350),
    'isolation.input_kohm': fc.integer({ min: 200, max: 20_000 }),
  })
  .map(({ series: of, ...rest }) => machineWith({ ...rest, 'divider.series': of }));
const limits = fc
  .record({
    headroom_percent: fc.integer({ min: 0, max: 60 }),
    wander_mm: fc.integer({ min: 40, max: 400 }).map((um) => um / 1000),
    step_mm: fc.integer({ min: 20, max: 80 }).map((um) => um / 1000),
    lead_mA: fc.integer({ min: 2, max: 30 }).map((tenths) => tenths / 10),
    load_percent: fc.integer({ min: 1, max: 10 }),
    delay_ms: fc.integer({ min: 4, max: 20 }).map((tenths) => tenths / 10),
    short_mm: fc.integer({ min: 2, max: 9 }),
  })
  .map((some): Limits => ({ ...DEFAULT_LIMITS, ...some }));

describe('the search for a divider', () => {
  it('finds the example among more than a million combinations of E96, and puts it first', () => {
    const machine = machineWith();
    const { proposals, tried } = searchDesigns(machine, USE, DEFAULT_LIMITS);
    expect(tried).toBeGreaterThan(1_000_000);
    expect(proposals[0].machine.divider).toEqual(machine.divider);
    expect(proposals).toHaveLength(5);
  });

  it('ranks by wander of the standoff, then by the number of resistors', () => {
    const loose = { ...DEFAULT_LIMITS, wander_mm: 0.2, step_mm: 0.08, headroom_percent: 10, short_mm: 2 };
    const { proposals, kept } = searchDesigns(machineWith({ 'divider.series': 24 }), USE, loose, 1000);
    expect(kept).toBeGreaterThan(200);
    const keys = proposals.map(({ machine, figures }) => [
      Math.ceil(1000 * figures.wander_mm),
      machine.divider.top_resistors,
    ]);
    expect(keys).toEqual([...keys].sort(([a, n], [b, m]) => a - b || n - m));
    expect(new Set(keys.map(([wander]) => wander)).size).toBeGreaterThan(5);
  });

  it('proposes only what keeps every limit and rating with parts at the unlucky ends of their tolerances', () => {
    let proposed = 0;
    fc.assert(
      fc.property(parts, limits, (machine, wanted_limits) => {
        for (const { machine: found, ratio } of searchDesigns(machine, USE, wanted_limits).proposals) {
          proposed++;
          const data_sheet = dataSheet(found, USE, wanted_limits);
          expect(data_sheet.violated).toEqual([]);
          expect(data_sheet.findings).toEqual([]);
          // Once more without the search's own sums: the corners of the resistors' tolerance, one by one.
          const { tolerance_percent, top_kohm, bottom_kohm } = found.divider;
          const corners = [-1, 1].flatMap((up) =>
            [-1, 1].map((down) => {
              const divider = {
                ...found.divider,
                top_kohm: top_kohm * (1 + (up * tolerance_percent) / 100),
                bottom_kohm: bottom_kohm * (1 + (down * tolerance_percent) / 100),
              };
              return tapOf({ divider, isolation: found.isolation }).ratio;
            }),
          );
          expect(Math.min(...corners)).toBeGreaterThanOrEqual(lowestRatio(tolerance_percent, ratio) - 1e-9);
          expect(Math.max(...corners)).toBeLessThanOrEqual(highestRatio(tolerance_percent, ratio) + 1e-9);
          const reads_V = Math.min(...corners) * 3.3 * 0.995 * 0.998 * (3971 / 4096);
          expect(reads_V).toBeGreaterThanOrEqual(
            found.supply.no_load_V * (1 + wanted_limits.headroom_percent / 100) - 0.5,
          );
        }
      }),
      { numRuns: 25, seed: 2026 },
    );
    // The draw must have put the search to the test.
    expect(proposed).toBeGreaterThan(20);
  });

  it('never does worse in what a limit is about when the limit is tighter', () => {
    const rows = LIMIT_ROWS.filter(({ wanted }) => wanted !== 'near');
    let compared = 0;
    fc.assert(
      fc.property(parts, limits, fc.constantFrom(...rows), fc.double({ min: 0.5, max: 1, noNaN: true }), (...draw) => {
        const [machine, wanted_limits, { name, wanted }, share] = draw;
        const tighter = {
          ...wanted_limits,
          [name]: wanted === 'at most' ? wanted_limits[name] * share : wanted_limits[name] / share,
        };
        const before = searchDesigns(machine, USE, wanted_limits, 1).proposals[0];
        const after = searchDesigns(machine, USE, tighter, 1).proposals[0];
        if (!after) return;
        compared++;
        // What the tighter limit allows the looser one allows too.
        expect(before).toBeDefined();
        const sign = wanted === 'at most' ? 1 : -1;
        expect(sign * after.figures[name]).toBeLessThanOrEqual(sign * before.figures[name]);
      }),
      { numRuns: 30, seed: 2026 },
    );
    expect(compared).toBeGreaterThan(5);
  });

  it('tells which limit refused most when nothing is left', () => {
    const { proposals, refused } = searchDesigns(machineWith(), USE, { ...DEFAULT_LIMITS, lead_mA: 0.02 });
    expect(proposals).toEqual([]);
    expect(Object.entries(refused).sort(([, a], [, b]) => b - a)[0][0]).toBe('lead_mA');
  });

  it('names the limits that a given divider does not keep', () => {
    const machine = machineWith({ 'divider.top_resistors': 1, 'divider.top_kohm': 1200 });
    const violated = violatedLimits(limitFigures(machine, USE), DEFAULT_LIMITS);
    expect(violated).toContain('lead_mA');
    const { findings } = dataSheet(machine, USE, DEFAULT_LIMITS);
    expect(findings).toContainEqual(expect.stringContaining('fewer than two protective resistors'));
  });
});
