import { describe, expect, it } from 'vitest';
import { DutyMeter } from '../../sim/judge/meters.js';
import { ErrorHistogram } from '../../sim/judge/tally.js';

describe('error histogram', () => {
  it('answers null before it has counted anything', () => {
    expect(new ErrorHistogram().quantile_mm(0.5)).toBeNull();
  });

  it('puts an error on the edge of a bin into the bin above it', () => {
    const histogram = new ErrorHistogram();
    histogram.add(0.25);
    expect(histogram.quantile_mm(1)).toBe(0.251);
  });

  it('puts what is beyond its range, or no number, into the last bin', () => {
    for (const size of [20, 1e6, Number.POSITIVE_INFINITY, Number.NaN]) {
      const histogram = new ErrorHistogram();
      histogram.add(size);
      expect(histogram.quantile_mm(0.999)).toBe(20.001);
    }
  });

  it('adds another one up', () => {
    const one = new ErrorHistogram();
    const other = new ErrorHistogram();
    one.add(0.1);
    other.add(5);
    one.merge(other);
    expect(one.quantile_mm(0.5)).toBe(0.101);
    expect(one.quantile_mm(1)).toBe(5.001);
  });
});

describe('duty meter', () => {
  it('is the arc time in ten minutes', () => {
    const meter = new DutyMeter();
    meter.add(0, 360_000);
    expect(meter.share()).toBe(0.6);
  });

  it('looks at the busiest ten minutes of a long run', () => {
    const meter = new DutyMeter();
    // Three minutes on, seven off, then six on, then hours off.
    meter.add(0, 180_000);
    meter.add(600_000, 360_000);
    meter.add(20_000_000, 1000);
    expect(meter.share()).toBe(0.6);
  });

  it('lets what is more than ten minutes ago drop out', () => {
    const meter = new DutyMeter();
    for (let minute = 0; minute < 100; minute++) meter.add(minute * 60_000, 30_000);
    expect(meter.share()).toBe(0.5);
  });

  it('is 1 for an arc that never ends', () => {
    const meter = new DutyMeter();
    meter.add(500, 2_000_000);
    expect(meter.share()).toBe(1);
  });
});
