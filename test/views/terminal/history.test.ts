import { describe, expect, it } from 'vitest';
import { ViewHistory } from '../../../sim/views/terminal/index.js';
import { Overview, PATH_BIN_MM, PathRing, TimeRing } from '../../../sim/views/terminal/rings.js';
import { atCorner, following, madeHistory, piercing, play, SCENE } from './made-trace.js';

describe('the history of a view', () => {
  it('keeps the newest row with its tick', () => {
    const { now } = madeHistory();
    expect(now?.tick).toBe(2999);
    expect(now?.measured_V).toBeCloseTo(118.4, 4);
    expect(now?.truth?.line).toBe(41);
  });

  it('counts only ticks of cutting over metal, and those within the tolerance', () => {
    const history = new ViewHistory(SCENE);
    play(history, 100, piercing);
    expect(history.cutting_ticks).toBe(0);
    play(history, 300, (tick) => following(tick, tick < 400 - 75 ? 1.6 : 1.8), 100);
    expect(history.cutting_ticks).toBe(300);
    expect(history.within_ticks).toBe(225);
    play(history, 50, (tick) => ({ ...following(tick, 0.2), off_sheet: 1 }), 400);
    expect(history.cutting_ticks).toBe(300);
  });

  it('remembers the closest moment with its cause, however long ago, with the path around it', () => {
    const history = new ViewHistory(SCENE);
    play(history, 40_000, (tick) => {
      if (tick === 3000) return atCorner(tick, 1.02);
      return following(tick, 1.5 + 0.05 * (tick % 2));
    });
    const { lowest } = history;
    expect(lowest).toMatchObject({ tick: 3000, cause: 'corner', line: 41, contour: 1 });
    expect(lowest?.error_mm).toBeCloseTo(-0.48, 5);
    // 2 m of path later the ring has long been overwritten, the surroundings have not.
    const bin = Math.floor(150 / PATH_BIN_MM);
    expect(history.path.has(bin)).toBe(false);
    const section = history.lowestSection;
    expect(section.at('low_mm', bin)).toBeCloseTo(150 * 0.02 + 1.02, 3);
    expect(section.has(bin + 50)).toBe(true);
  });

  it('blames a dive shortly after a crossing on the crossing', () => {
    const history = new ViewHistory(SCENE);
    play(history, 1000, (tick) => ({
      ...following(tick, tick === 600 ? 1.2 : 1.5),
      crossing: tick >= 480 && tick < 520 ? 1 : 0,
    }));
    expect(history.lowest?.cause).toBe('crossing');
  });

  it('is the same whether a block comes whole or row by row', () => {
    const whole = madeHistory();
    const parts = new ViewHistory(SCENE);
    for (let tick = 0; tick < 3000; tick++)
      play(parts, 1, (at) => (at >= 2000 && at < 2500 ? atCorner(at) : following(at)), tick);
    expect(parts).toEqual(whole);
  });
});

describe('bounded memory', () => {
  it('the path ring keeps the last 128 mm and forgets the rest', () => {
    const ring = new PathRing();
    for (let path_mm = 0; path_mm < 1000; path_mm += 0.1) ring.add(path_mm, path_mm, 5, 1.5, 0, 0);
    expect(ring.newest - ring.oldest + 1).toBe(128 / PATH_BIN_MM);
    expect(ring.at('plate_mm', ring.newest)).toBeCloseTo(999.9, 3);
    expect(ring.has(ring.oldest - 1)).toBe(false);
  });

  it('a bin that was stepped over is unknown, not a remnant of earlier path', () => {
    const ring = new PathRing();
    for (let path_mm = 0; path_mm < 300; path_mm += 0.1) ring.add(path_mm, 7, 8, 1.5, 1, 3);
    ring.add(310, 9, 10, 1.5, 0, 4);
    const between = Math.floor(305 / PATH_BIN_MM);
    expect(ring.at('plate_mm', between)).toBeNaN();
    expect(ring.at('gap', between)).toBe(0);
  });

  it('a bin in which two contours meet shows the later one alone', () => {
    const ring = new PathRing();
    ring.add(10, 12, 13.5, 1.5, 1, 0);
    ring.add(10, 0, 3.5, 3.5, 0, 1);
    ring.add(10, 0, 1.5, 1.5, 0, 1);
    const bin = Math.floor(10 / PATH_BIN_MM);
    expect([ring.at('low_mm', bin), ring.at('high_mm', bin), ring.at('plate_mm', bin), ring.at('gap', bin)]).toEqual([
      1.5, 3.5, 0, 0,
    ]);
  });

  it('the time ring keeps least and largest of each 5 ms, and leaves time without rows empty', () => {
    const ring = new TimeRing();
    for (let tick = 0; tick < 10; tick++) ring.add(tick, tick, 100 + tick, 118, 7, tick === 3 ? 2 : 0);
    expect([ring.at('standoff_low_mm', 0), ring.at('standoff_high_mm', 0), ring.at('hold', 0)]).toEqual([0, 4, 2]);
    expect([ring.at('arc_low_V', 1), ring.at('arc_high_V', 1), ring.at('hold', 1)]).toEqual([105, 109, 0]);
    ring.add(5000, 1, 1, 1, 7, 0);
    expect([ring.at('arc_low_V', 1), ring.at('arc_high_V', 1)]).toEqual([105, 109]);
    expect([
      ring.at('arc_low_V', 500),
      ring.at('standoff_high_mm', 500),
      ring.at('target_V', 500),
      ring.at('mode', 500),
    ]).toEqual([Number.NaN, Number.NaN, Number.NaN, 0]);
    expect([ring.at('arc_low_V', 1000), ring.at('mode', 1000)]).toEqual([1, 7]);
    ring.add(100_000, 1, 1, 1, 7, 0);
    expect([ring.has(1000), ring.has(20_000)]).toEqual([false, true]);
  });

  it('the overview joins neighbours when the path outgrows it and loses no extreme', () => {
    const overview = new Overview();
    for (let path_mm = 0; path_mm < 9000; path_mm += 0.5)
      overview.add(path_mm, path_mm === 4321 ? 0.3 : path_mm === 8000 ? 2.9 : 1.5);
    expect(overview.bin_mm).toBe(16);
    expect(overview.count).toBe(Math.ceil(9000 / 16));
    expect(overview.low(0, overview.count)).toBeCloseTo(0.3, 6);
    expect(overview.high(0, overview.count)).toBeCloseTo(2.9, 6);
    const at = Math.floor(4321 / 16);
    expect(overview.low(at, at + 1)).toBeCloseTo(0.3, 6);
    expect(overview.low(at + 1, overview.count)).toBeCloseTo(1.5, 6);
  });

  it('the overview shows nothing where nothing was cut', () => {
    const overview = new Overview();
    overview.add(0, 1.3);
    overview.add(10, 1.4);
    expect(overview.low(3, 6)).toBeNaN();
    expect(overview.low(0, 11)).toBeCloseTo(1.3, 6);
    expect(overview.high(0, 11)).toBeCloseTo(1.4, 6);
  });
});
