import { describe, expect, it } from 'vitest';
import { CORNER, CROSSING, cut, OVER_THE_EDGE, STRAIGHT } from './cut.js';

/** A told target, which is right: what a test is about is then the only cause. */
const TOLD = { target_learned: 0 };
/** No regulation at all. */
const UNREGULATED = { ...TOLD, gain_p_per_s: 0, gain_i_per_s2: 0 };
const WAVES = { 'sheet.wave_mm': 2.5, 'sheet.wave_direction_deg': 0 };

describe('what the world does to a torch that is not looked after, and to one that is', () => {
  it('a square corner dives without the corner lockout and the feed-effect target', () => {
    const off = cut(CORNER, {
      box: { ...TOLD, corner_fraction: 0, feed_effect_V: 0, crossing_rise_mm_per_s: 0, crossing_band_mm: 0 },
    });
    const on = cut(CORNER, { box: TOLD });
    // More than 1 mm before descents had a bound of their own.
    expect(off.figures.corner_dive_mm).toBeGreaterThan(0.5);
    expect(on.figures.corner_dive_mm).toBeLessThan(0.15);
    expect(on.broken).toEqual([]);
  });

  it('no corner dives where the voltage does not depend on the feed', () => {
    const box = { corner_fraction: 0, feed_effect_V: 0 };
    expect(cut(CORNER, { box, world: { 'arc.feed_effect_V': 0 } }).figures.corner_dive_mm).toBeLessThan(0.05);
  });

  it('the second pass over a kerf dives without the crossing lockout', () => {
    const box = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0, wrong_way_mm: 5 };
    const off = cut(CROSSING, { box });
    const on = cut(CROSSING);
    expect(off.figures.kerf_crossing_dive_mm).toBeGreaterThan(3 * on.figures.kerf_crossing_dive_mm!);
    expect(on.figures.kerf_crossing_dive_mm).toBeLessThan(0.15);
    expect(on.figures.crossings).toBe(1);
    expect(on.outcome.ended).toBe('finished');
  });

  it('no crossing dives where the arc does not feel missing metal', () => {
    const box = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0 };
    expect(cut(CROSSING, { box, world: { 'arc.crossing_V': 0 } }).figures.kerf_crossing_dive_mm).toBeLessThan(0.05);
  });

  it('a frozen hold meets a sheet that rises, a carried one goes with it', () => {
    const world = { 'sheet.tilt_x': 0.06, 'arc.front_ms': 2 };
    const frozen = cut(CROSSING, { world, box: { hold_carried: 0 } });
    const carried = cut(CROSSING, { world });
    expect(frozen.figures.kerf_crossing_dive_mm).toBeGreaterThan(0.12);
    expect(carried.figures.kerf_crossing_dive_mm).toBeLessThan(0.7 * frozen.figures.kerf_crossing_dive_mm!);
  });

  it('a wavy sheet leaves the unregulated torch millimetres off', () => {
    expect(cut(STRAIGHT, { world: WAVES, box: UNREGULATED }).figures.standoff_error_worst_mm).toBeGreaterThan(1);
    expect(cut(STRAIGHT, { world: WAVES, box: TOLD }).figures.standoff_error_worst_mm).toBeLessThan(0.25);
  });

  it('a tilted sheet brings the unregulated torch into contact', () => {
    const world = { 'sheet.tilt_x': 0.03 };
    const off = cut(STRAIGHT, { world, box: UNREGULATED });
    expect(off.figures.contacts).toBe(1);
    expect(off.broken).toContain('no-contact');
    expect(cut(STRAIGHT, { world }).figures.contacts).toBe(0);
  });

  it('heat growth lifts the sheet towards the unregulated torch', () => {
    const world = { 'sheet.heat_growth_mm_per_s': 0.5 };
    const off = cut(STRAIGHT, { world, box: UNREGULATED });
    expect(off.figures.least_standoff_mm).toBeLessThan(1.4);
    const on = cut(STRAIGHT, { world, box: TOLD });
    expect(on.figures.least_standoff_mm).toBeGreaterThan(off.figures.least_standoff_mm! + 0.05);
  });

  it('a stay at the speed limit overshoots without anti-windup', () => {
    // The sheet falls faster than follow_down allows, then levels out and rises again.
    const world = { ...WAVES, 'sheet.wave_phase_from_seed': false, 'sheet.wave_phase_turns': 0.1 };
    const box = { follow_down_mm_s: 1.5, floor_allowance_mm: 5, wrong_way_mm: 5 };
    const without = cut(STRAIGHT, { world, box: { ...box, tracking_ms: 2000, gain_i_per_s2: 400 } });
    const with_it = cut(STRAIGHT, { world, box: { ...box, tracking_ms: 20, gain_i_per_s2: 400 } });
    expect(with_it.figures.velocity_limited_share).toBeGreaterThan(0.05);
    expect(without.figures.least_standoff_mm).toBeLessThan(with_it.figures.least_standoff_mm! - 0.1);
  });

  it('white noise drives a torch with too much gain to and fro', () => {
    const world = { 'noise.white_V_rms_per_tick': 1 };
    const calm = cut(STRAIGHT, { world, box: TOLD });
    const nervous = cut(STRAIGHT, { world, box: { ...TOLD, gain_p_per_s: 90, smoothing_ms: 0, reversal_um: 0 } });
    expect(calm.figures.reversals_per_s).toBeLessThan(15);
    expect(nervous.figures.reversals_per_s).toBeGreaterThan(3 * calm.figures.reversals_per_s!);
    expect(nervous.figures.standoff_error_rms_mm).toBeGreaterThan(1.5 * calm.figures.standoff_error_rms_mm!);
  });

  it('rectifier ripple gets through a mean that is set for another mains', () => {
    const world = { 'noise.ripple_V_peak': 10 };
    // What gets through passes for a crossing too, and a cut that is held does not show it.
    const box = { reversal_um: 0, smoothing_ms: 0, crossing_rise_mm_per_s: 0, crossing_band_mm: 0 };
    const right = cut(STRAIGHT, { seed: 2, world, box: { ...box, mains_Hz: 50 } });
    const wrong = cut(STRAIGHT, { seed: 2, world, box: { ...box, mains_Hz: 62 } });
    expect(wrong.figures.reversals_per_s).toBeGreaterThan(2 * right.figures.reversals_per_s!);
  });

  it('slow noise cannot be told from a wavy sheet', () => {
    const world = { 'noise.coloured_V_rms': 0.6 };
    expect(cut(STRAIGHT, { world }).figures.standoff_error_rms_mm).toBeGreaterThan(0.06);
  });

  it('wear of the electrode leaves the torch lower under a told target, and not under one that is found', () => {
    const world = { 'arc.wear_V_per_start': 0.8 };
    const mean = cut(STRAIGHT, { world, box: TOLD }).figures.standoff_error_mean_mm!;
    expect(Math.abs(cut(STRAIGHT, { world }).figures.standoff_error_mean_mm!)).toBeLessThan(0.1);
    expect(mean).toBeLessThan(-0.15);
    expect(mean).toBeGreaterThan(-0.25);
  });

  it('a target learned on the spot does not mind what the voltage is', () => {
    const box = { target_learned: 1, target_V: 123, arc_high_V: 190 };
    const learned = cut(STRAIGHT, { box });
    const fixed = cut(STRAIGHT, { box: { ...box, target_learned: 0 } });
    expect(Math.abs(learned.figures.standoff_error_mean_mm!)).toBeLessThan(0.1);
    expect(fixed.figures.standoff_error_mean_mm).toBeGreaterThan(1);
  });

  it('an arc of twice the believed V/mm makes too high a gain ring', () => {
    const world = { ...WAVES, 'arc.slope_V_per_mm': 8, 'noise.white_V_rms_per_tick': 1 };
    const ringing = cut(STRAIGHT, { world, box: { ...TOLD, gain_p_per_s: 60, gain_i_per_s2: 900 } });
    const calm = cut(STRAIGHT, { world, box: TOLD });
    expect(calm.outcome.ended).toBe('finished');
    const ringing_mm = ringing.figures.standoff_error_rms_mm ?? Number.POSITIVE_INFINITY;
    expect(ringing_mm).toBeGreaterThan(2 * calm.figures.standoff_error_rms_mm!);
  });

  it('impulses of 100 V start hardly a hold, and many without the spike rejection', () => {
    const world = { 'noise.impulse_rate_per_s': 20, 'noise.impulse_V': 100, 'noise.impulse_ms': 0.3 };
    const crossings = (spike_V: number) =>
      cut(STRAIGHT, { world, box: { spike_V } }).figures.holds.find((hold) => hold.cause === 'crossing')?.count ?? 0;
    // Two impulses that lie half a mains period apart pass for ripple: one hold in this cut, 28 without the rejection.
    expect(crossings(0)).toBeGreaterThan(20);
    expect(crossings(15)).toBeLessThan(crossings(0) / 10);
  });

  it('a torch that leaves the sheet loses its arc, and the table stops', () => {
    const off = cut(OVER_THE_EDGE);
    expect(off.outcome.ended).toBe('stopped');
    expect(off.figures.faults.length).toBeGreaterThan(0);
    expect(off.broken).toEqual([]);
    expect(off.figures.contacts).toBe(0);
  });

  it('a tipped-up offcut knocks the head out and everything stops', () => {
    const world = {
      'sheet.offcut_height_mm': 15,
      'sheet.offcut_x_mm': 200,
      'sheet.offcut_y_mm': 90,
      'sheet.offcut_size_mm': 20,
    };
    const hit = cut(STRAIGHT, { world });
    expect(hit.figures.contacts).toBeGreaterThan(0);
    expect(hit.outcome.ended).toBe('stopped');
    expect(hit.faults.length).toBeGreaterThan(0);
    expect(hit.broken).toEqual(['no-contact']);
  });

  it('the give of a sheet between its slats drops out of the touch-off', () => {
    const stiff = cut(STRAIGHT, { world: { 'sheet.compliance_mm_per_N': 0 } });
    const springy = cut(STRAIGHT, { world: { 'sheet.compliance_mm_per_N': 0.2 } });
    expect(springy.figures.least_standoff_mm).toBeGreaterThan(stiff.figures.least_standoff_mm! - 0.1);
  });
});
