import { describe, expect, it } from 'vitest';
import { type Changes, cut, STRAIGHT } from './cut.js';

/** A loop that is too quick for its own good: little low-pass, no reversal, three times the gain. */
const NERVOUS = { gain_p_per_s: 66, gain_i_per_s2: 700, smoothing_ms: 0, reversal_um: 0, target_learned: 0 };

const CAUSES: readonly (readonly [string, Pick<Changes, 'box' | 'machine' | 'world'>])[] = [
  ['a sheet that vibrates', { world: { 'sheet.vibration_mm': 0.2, 'sheet.vibration_Hz': 15 } }],
  ['an arm that swings', { machine: { 'head.arm_Hz': 20 } }],
  ['jumps of the voltage', { world: { 'arc.jump_V': 3, 'arc.jump_rate_per_s': 3, 'arc.jump_ms': 20 } }],
  ['a supply that follows its arc late', { world: { 'arc.source_lag_ms': 15 } }],
  // Of another frequency than the box was told: the right one is followed, and taken out.
  ['mains voltage on the leads', { box: { mains_Hz: 55 }, world: { 'noise.pickup_V_peak': 4 } }],
  ['a root of the arc that trembles', { world: { 'noise.coloured_V_rms': 3, 'noise.coloured_corner_Hz': 200 } }],
  ['wide codes of the converter', { machine: { 'converter.wide_counts': 9 } }],
  ['a zero that drifts', { machine: { 'converter.zero_drift_counts_per_s': 6 } }],
  ['a rail that sags', { machine: { 'converter.rail_drift_percent_per_s': 0.3 } }],
];

describe('what disturbs a cut', () => {
  const still_mm = cut(STRAIGHT, { box: NERVOUS }).figures.standoff_error_rms_mm!;

  it.each(CAUSES)('%s leaves a loop that is too quick at least two and a half times as far off', (_name, cause) => {
    const { standoff_error_rms_mm } = cut(STRAIGHT, { ...cause, box: { ...NERVOUS, ...cause.box } }).figures;
    expect(standoff_error_rms_mm).toBeGreaterThan(2.5 * still_mm);
  });

  it('mains voltage of the frequency that the box was told does not', () => {
    const { standoff_error_rms_mm } = cut(STRAIGHT, { box: NERVOUS, world: { 'noise.pickup_V_peak': 4 } }).figures;
    expect(standoff_error_rms_mm).toBeLessThan(1.2 * still_mm);
  });
});
