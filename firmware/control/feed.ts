// Feed from the X and Y step counts, the running feed of the cut, and the feed effect on the arc voltage:
// slower than the target feed the arc lengthens into the kerf and the voltage rises.

import { INPUT_X_STEPS, INPUT_Y_STEPS } from '../wire/layout.gen';
import { below, exceeds, hypotenuse, isZero, TICK_S, TICKS_PER_S } from './numbers';
import { D, INPUT, L, P, R, S } from './state';

/** Below this nothing is called a cut's running feed. */
const SLOWEST_MM_S: f32 = 2;
/** A feed within this share of its slow mean is steady. */
const STEADY_SHARE: f32 = 0.05;
const STEADY_TICKS = 150;
/** Slower than this is rest. */
const REST_MM_S: f32 = 0.001;
/** Less slowness than this is none. */
const LEAST_SLOWNESS: f32 = 1e-6;
const SLOW_MS: f32 = 80;
/** What lagShare would give, computed when the module is built. */
const SLOW_SHARE: f32 = <f32>1 / (<f32>1 + SLOW_MS);

function travelled_mm(steps_at: usize, most_steps: i32, mm_per_step: f32): f32 {
  const steps = load<i32>(INPUT + steps_at);
  if (steps == 0) return 0;
  return <f32>(steps > most_steps ? most_steps : steps < -most_steps ? -most_steps : steps) * mm_per_step;
}

/** One tick of a first-order lag that comes to rest at 0: its tail would end in denormal numbers, which are slow. */
function follow(value: f32, input: f32, share: f32): f32 {
  const coasting = isZero(input);
  if (coasting && isZero(value)) return 0;
  const next = value + (input - value) * share;
  return coasting && below(next, REST_MM_S) ? 0 : next;
}

export function readFeed(): void {
  R.x_mm = travelled_mm(INPUT_X_STEPS, D.x_most_steps, D.mm_per_x_step);
  R.y_mm = travelled_mm(INPUT_Y_STEPS, D.y_most_steps, D.mm_per_y_step);
  const x_mm_s = R.x_mm * TICKS_PER_S;
  const y_mm_s = R.y_mm * TICKS_PER_S;
  // Filtered as a vector: on a slow diagonal X and Y step in different ticks, and the sum of the lengths of such
  // steps is up to √2 too long.
  R.x_feed_mm_s = follow(R.x_feed_mm_s, x_mm_s, D.feed_share);
  R.y_feed_mm_s = follow(R.y_feed_mm_s, y_mm_s, D.feed_share);
  R.feed_mm_s = hypotenuse(R.x_feed_mm_s, R.y_feed_mm_s);
  R.feed_slow_mm_s = follow(R.feed_slow_mm_s, R.feed_mm_s, SLOW_SHARE);

  // The allowance must meet the voltage that it is for: it waits as long as the moving mean delays that, a quarter of
  // a mains period.
  R.x_delayed_mm_s = follow(R.x_delayed_mm_s, x_mm_s, D.delay_share);
  R.y_delayed_mm_s = follow(R.y_delayed_mm_s, y_mm_s, D.delay_share);
  const feed_mm_s = hypotenuse(R.x_delayed_mm_s, R.y_delayed_mm_s);
  R.slow = slownessAt(feed_mm_s);
  R.slowness = fade(R.slowness + (R.slow - R.slowness) * (D.target_found ? L.effect_share : D.effect_share));
}

/** 1 at rest, 0 at the target feed; below that up to twice the target feed, where the feed effect is found. */
function slownessAt(feed_mm_s: f32): f32 {
  const slowness = <f32>1 - feed_mm_s * D.target_pace_s_per_mm;
  return slowness > D.least_slowness ? slowness : D.least_slowness;
}

/** A lag that comes to rest at 0, see `follow`. */
export function fade(slowness: f32): f32 {
  return below(slowness, LEAST_SLOWNESS) ? 0 : slowness;
}

/** Path of this tick in mm, from the filtered feed. */
export function pathStep_mm(): f32 {
  return R.feed_mm_s * TICK_S;
}

export function steadyFeed(): bool {
  return S.steady_ms >= STEADY_TICKS;
}

/**
 * The running feed rises with the feed and, once the feed is steady at a new level, becomes that level: else an
 * F change or a small hole would hold for ever. Only while cutting.
 */
export function trackRunningFeed(): void {
  if (exceeds(R.feed_slow_mm_s, R.running_mm_s)) R.running_mm_s = R.feed_slow_mm_s;
  const steady =
    exceeds(R.feed_mm_s, SLOWEST_MM_S) && below(R.feed_mm_s - R.feed_slow_mm_s, R.feed_slow_mm_s * STEADY_SHARE);
  S.steady_ms = steady ? (S.steady_ms < STEADY_TICKS ? S.steady_ms + 1 : STEADY_TICKS) : 0;
  if (S.steady_ms >= STEADY_TICKS) R.running_mm_s = R.feed_slow_mm_s;
}

export function feedFallen(): bool {
  // With a fraction of 0 no feed is below it.
  return exceeds(R.running_mm_s, SLOWEST_MM_S) && below(R.feed_mm_s, P.corner_fraction * R.running_mm_s);
}

/** What the target is raised by. */
export function feedAllowance_V(): f32 {
  return R.feed_effect_V * R.slowness;
}
