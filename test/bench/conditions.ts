import { exampleSetup, type Setup } from '../../sim/run/setup/index.js';

/** Changes to parts of the world, such as { arc: { slope_V_per_mm: 1 } }. */
type WorldChange = { readonly [P in keyof Setup['world']]?: Partial<Setup['world'][P]> };

export interface Condition {
  readonly name: string;
  readonly setup: Setup;
}

function condition(name: string, box: Readonly<Record<string, number>>, change: WorldChange): Condition {
  const { box: given, machine, world } = exampleSetup();
  const changed: Record<string, unknown> = { ...world };
  for (const [part, values] of Object.entries(change)) {
    changed[part] = { ...(changed[part] as object), ...(values as object) };
  }
  return { name, setup: { box: { ...given, ...box }, machine, world: changed as unknown as Setup['world'] } };
}

/** The noise that the figures are stated for: white and rectifier ripple, nothing else. */
const STATED_NOISE = {
  white_V_rms_per_tick: 1,
  ripple_V_peak: 2,
  coloured_V_rms: 0,
  inverter_V_peak: 0,
  impulse_rate_per_s: 0,
};
const NO_WEAR = { wear_V_per_start: 0, wear_V_per_min: 0 };
const FLAT = { tilt_x: 0, tilt_y: 0, bow_mm: 0, wave_mm: 0, heat_growth_mm_per_s: 0 };
/** At 1 V/mm the same lengthening of the arc (2 mm by feed, 6.25 mm over a kerf) is a quarter of the volts. */
const ONE_VOLT = { ...NO_WEAR, slope_V_per_mm: 1, feed_effect_V: 2, crossing_V: 6.25 };

export const STATED = condition('as stated: white 1 V, ripple 2 V', {}, { noise: STATED_NOISE, arc: NO_WEAR });
export const FLAT_SHEET = condition('the same, flat sheet', {}, { noise: STATED_NOISE, arc: NO_WEAR, sheet: FLAT });
export const ONE_V_PER_MM = condition(
  'at 1 V/mm, white 0.3 V',
  { arc_slope_V_per_mm: 1, feed_effect_V: 2 },
  { noise: { ...STATED_NOISE, white_V_rms_per_tick: 0.3 }, arc: ONE_VOLT },
);
export const EVERYTHING = condition('every part of the world on', {}, {});

const NO_CORNER = { corner_fraction: 0 };
const NO_CROSSING = { crossing_rise_mm_per_s: 0, crossing_band_mm: 0 };
/** Nothing is learned, so that the model's own error is seen. */
const model = (feed_effect_V: number) => ({ feed_effect_V, feed_effect_learned: 0 });
const stated = { noise: STATED_NOISE, arc: NO_WEAR };

/** Side by side: what each part of the lockouts is worth. The world's feed effect is 8 V. */
export const COMPARISON: readonly Condition[] = [
  condition('no lockout, no feed-effect target', { ...NO_CORNER, ...NO_CROSSING, ...model(0) }, stated),
  condition('no lockout, exact feed-effect target', { ...NO_CORNER, ...NO_CROSSING, ...model(8) }, stated),
  condition('no lockout, feed effect 20 % too small', { ...NO_CORNER, ...NO_CROSSING, ...model(6.4) }, stated),
  condition('frozen hold, no feed-effect target', { hold_carried: 0, ...model(0) }, stated),
  condition('frozen hold, feed effect learned', { hold_carried: 0 }, stated),
  condition('carried hold, no feed-effect target', model(0), stated),
  condition('carried hold, feed effect 20 % too small', model(6.4), stated),
  condition('carried hold, feed effect learned (default)', {}, stated),
];
