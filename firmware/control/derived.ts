// What follows from the parameters alone. Divisions are dear on a processor without one: they are done when a
// parameter is set, not in every tick.

import { READINGS_PER_TICK } from '../wire/layout';
import { lagShare } from './numbers';
import { D, P } from './state';

/** Readings a second, halved: divided by the mains frequency it is the length of the mean. */
const HALF_SECOND_READINGS: f32 = 5000;
/** Divided by the mains frequency: the delay of a mean over half a period, ms. */
const QUARTER_SECOND_MS: f32 = 250;
/** A reading is believed again within this share of spike_V. */
const SPIKE_RELEASE: f32 = 0.2;

export function derive(): void {
  D.mean_length = HALF_SECOND_READINGS / P.mains_Hz;
  D.mean_whole = <i32>D.mean_length;
  D.mean_part = D.mean_length - <f32>D.mean_whole;
  const spike_counts = (P.spike_V * <f32>1000) / P.reading_gain_mV;
  D.spike_limit = P.spike_V > 0 ? <i32>spike_counts : i32.MAX_VALUE;
  D.spike_release = <i32>(spike_counts * SPIKE_RELEASE);
  D.spike_longest = <i32>P.spike_ms * READINGS_PER_TICK;
  D.feed_share = lagShare(P.feed_filter_ms);
  D.delay_share = lagShare(QUARTER_SECOND_MS / P.mains_Hz);
  D.effect_share = lagShare(P.feed_effect_ms);
  D.smoothing_share = lagShare(P.smoothing_ms);
}
