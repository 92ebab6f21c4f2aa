// What sheet, consumables and supply do to a box that was weakened against them, beside the same box without them, or with its defaults.
import { describe, expect, it } from 'vitest';
import { type Changes, cut, STRAIGHT } from './cut.js';

const TOLD = { target_learned: 0 };
const UNREGULATED = { ...TOLD, gain_p_per_s: 0, gain_i_per_s2: 0 };
const program = (...lines: string[]) => ['G21 G90 G17 F3000', ...lines, 'G4 P1', 'M30', ''].join('\n');
/** A square that closes over its lead-in and is cut again for 25 mm. */
const CLOSED = program('G0 X100 Y90', 'M3', 'G1 Y100', 'G1 X140', 'G1 Y140', 'G1 X70', 'G1 Y100', 'G1 X125', 'M5');
const TWO = program('G0 X50 Y100', 'M3', 'G1 X150', 'M5', 'G4 P1', 'G0 X50 Y130', 'M3', 'G1 X250', 'M5');
/** The torch goes off in the middle of a line, and the table goes on. */
const EARLY_OFF = program('G0 X50 Y100', 'M3', 'G1 X150', 'M5', 'G1 X250');
const figures = (text: string, changes: Changes) => cut(text, changes).figures;

describe('bumps and dents', () => {
  const world = { 'sheet.bump_mm': 0.8, 'sheet.bump_size_mm': 60, 'sheet.bump_pitch_mm': 70 };

  it('leave an unregulated torch half a millimetre off, and a regulated one not', () => {
    // Where the line meets them is the seed's.
    const worst = (box: Record<string, number>) =>
      Math.max(...[1, 2, 3].map((seed) => figures(STRAIGHT, { world, box, seed }).standoff_error_worst_mm!));
    expect(worst(UNREGULATED)).toBeGreaterThan(0.5);
    expect(worst(TOLD)).toBeLessThan(0.25);
  });
});

describe('the melt of a pierce', () => {
  const world = { 'sheet.puddle_mm': 0.6 };

  it('is measured by a found target for sheet: the torch goes lower, and under a told target it does not', () => {
    const mean = (box: Record<string, number>) => figures(STRAIGHT, { world, box }).standoff_error_mean_mm!;
    expect(mean({}) - figures(STRAIGHT, {}).standoff_error_mean_mm!).toBeLessThan(-0.02);
    expect(Math.abs(mean(TOLD))).toBeLessThan(0.05);
  });
});

describe('a part that sinks', () => {
  const BLIND = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0, wrong_way_mm: 5 };
  const dive = (drop_mm: number, box: Record<string, number>) =>
    figures(CLOSED, { world: { 'sheet.drop_mm': drop_mm, 'arc.crossing_V': 1 }, box }).kerf_crossing_dive_mm!;

  it('draws a torch that does not look for crossings deeper down', () => {
    expect(dive(0.6, { ...TOLD, ...BLIND })).toBeGreaterThan(dive(0, { ...TOLD, ...BLIND }) + 0.2);
  });
});

describe('consumables', () => {
  const world = { 'arc.wear_V_per_start': 0.05, 'arc.used_starts': 60 };

  it('that are worn leave the torch low by their volts under a told target, and not under one that is found', () => {
    const mean = (box: Record<string, number>) => figures(STRAIGHT, { world, box }).standoff_error_mean_mm!;
    // 3 V at 4 V/mm.
    expect(mean(TOLD)).toBeCloseTo(-0.75, 1);
    expect(Math.abs(mean({}))).toBeLessThan(0.1);
  });

  it('that are changed between two contours leave a told target behind', () => {
    const faults = [{ kind: 'new-consumables', at_s: 9, value: -3 }] as const;
    const second = (box: Record<string, number>) =>
      figures(TWO, { world, faults, box: { ...box, target_V: 121 } }).contours[1]!.standoff_error_mean_mm!;
    // From 3 V of wear to 3 V below what was told.
    expect(second(TOLD)).toBeGreaterThan(1.3);
    expect(Math.abs(second({}))).toBeLessThan(0.15);
  });
});

describe('the supply', () => {
  it('with a rectifier of three phases at 60 Hz gets through a mean that is set for another mains', () => {
    const machine = { 'supply.phases': 3, 'supply.mains_Hz': 60 };
    const world = { 'noise.ripple_V_peak': 20 };
    const nervous = { ...TOLD, reversal_um: 0, smoothing_ms: 0 };
    const at = (mains_Hz: number) => figures(STRAIGHT, { machine, world, box: { ...nervous, mains_Hz } });
    expect(at(50).reversals_per_s).toBeGreaterThan(1.5 * at(60).reversals_per_s!);
  });

  it('that touches before it pilots is not waited for by a box in a hurry', () => {
    const world = { 'arc.contact_start_ms': 600 };
    expect(cut(STRAIGHT, { world, box: { strike_ms: 500, strike_retries: 0 } }).outcome.ended).toBe('stopped');
    expect(cut(STRAIGHT, { world }).outcome.ended).toBe('finished');
  });

  it('whose arc doubles throws a loop that is too quick at least twice as far off', () => {
    const NERVOUS = { gain_p_per_s: 66, gain_i_per_s2: 700, smoothing_ms: 0, reversal_um: 0, target_learned: 0 };
    const rms = (volts: number, box = {}) =>
      figures(STRAIGHT, {
        world: { 'arc.double_arc_V': volts, 'arc.double_arcs_per_s': 2 },
        box: { ...NERVOUS, spike_V: 0, ...box },
      }).standoff_error_rms_mm!;
    // One that looks for no crossings waits for no dip either.
    expect(rms(25, { crossing_rise_mm_per_s: 0 })).toBeGreaterThan(2 * rms(0));
    expect(rms(25)).toBeLessThan(1.2 * rms(0));
  });
});

describe('an M5 at speed', () => {
  const changes = (torch_off_mm_s: number): Changes => ({
    machine: { 'table.torch_off_mm_s': torch_off_mm_s },
    world: { 'sheet.tilt_x': 0.08 },
  });
  /** The least standoff from the M5 on, mm. */
  function leastBehind(torch_off_mm_s: number, box: Record<string, number>): number {
    let least_mm = Number.POSITIVE_INFINITY;
    cut(EARLY_OFF, { ...changes(torch_off_mm_s), box }, ({ count, x_mm, standoff_mm }) => {
      for (let row = 0; row < count; row++) if (x_mm[row] > 150) least_mm = Math.min(least_mm, standoff_mm[row]);
    });
    return least_mm;
  }

  it('carries a torch that rises slowly nearer over a sheet that rises, while the arc still falls', () => {
    const slow = { z_velocity_mm_s: 7, follow_down_mm_s: 7, z_acceleration_mm_s2: 100 };
    expect(leastBehind(50, slow)).toBeLessThan(leastBehind(0, slow) - 0.1);
  });

  it('is cut by the box as it is shipped', () => {
    expect(cut(EARLY_OFF, changes(50))).toMatchObject({ broken: [], faults: [], outcome: { ended: 'finished' } });
  });
});
