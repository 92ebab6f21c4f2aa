import { describe, expect, it } from 'vitest';
import { type DataSheet, DEFAULT_LIMITS, dataSheet, dutyAt_percent } from '../../sim/electrical/index.js';
import { DEFAULT_MACHINE, withValues } from '../../sim/world/plant/index.js';
import { machineWith, USE } from './machine.js';

const sheet = (values: Readonly<Record<string, number>> = {}): DataSheet =>
  dataSheet(machineWith(values), USE, DEFAULT_LIMITS);
const term = (cause: string) => (one: DataSheet) => one.budget.terms.find((each) => each.cause === cause)!.error_V;

describe('a quantity of the machine has its effect on the figures of the sheet', () => {
  // Twice the quantity, twice the figure.
  it.each([
    ['isolation.linearity_percent', 0.04, term('linearity of the isolation stage')],
    ['isolation.input_V', 6.6, term('linearity of the isolation stage')],
    ['isolation.offset_drift_uV_per_K', 10, term('drift of its zero')],
    ['converter.reference_percent', 0.4, term('reference')],
    ['converter.reference_drift_ppm_per_K', 40, term('drift of the reference')],
    ['converter.sample_pF', 20, (one: DataSheet) => one.sampling.needed_us],
    ['converter.sample_us', 2, (one: DataSheet) => one.sampling.given_us],
  ] as const)('%s doubled', (path, value, figure) => {
    expect(figure(sheet({ [path]: value })) / figure(sheet())).toBeCloseTo(2, 9);
  });

  it('divider.capacitor_percent widens the range of the time constant by itself', () => {
    const { filter } = sheet({ 'divider.capacitor_percent': 20 });
    expect(filter.most_rc_ms / filter.rc_ms).toBeCloseTo(1.2, 9);
    expect(filter.least_rc_ms / filter.rc_ms).toBeCloseTo(0.8, 9);
  });

  // From 25 °C to 10 and to 40 the example drifts by 15 K; the larger way counts.
  it.each([
    ['shop.coldest_C', -5],
    ['shop.warmest_C', 55],
    ['shop.calibrated_C', 40],
  ] as const)('%s twice as far away doubles the drift', (path, value) => {
    const drift = term('drift of the reference');
    expect(drift(sheet({ [path]: value })) / drift(sheet())).toBeCloseTo(2, 9);
  });

  it('isolation.working_V below the no-load voltage is told', () => {
    const told = (working_V: number) => JSON.stringify(sheet({ 'isolation.working_V': working_V }));
    expect(told(270)).toContain('above the barrier’s working voltage');
    expect(told(290)).not.toContain('above the barrier’s working voltage');
  });

  it('supply.rated_A allows a cut at half of it more time than at the whole', () => {
    const allowed = (rated_A: number) => {
      const { cut_A, duty_percent, ...supply } = withValues(DEFAULT_MACHINE, { 'supply.rated_A': rated_A }).supply;
      return dutyAt_percent(cut_A, supply.rated_A, duty_percent);
    };
    expect(allowed(40)).toBe(60);
    expect(allowed(44)).toBeGreaterThan(60);
  });
});
