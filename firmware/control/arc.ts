// Arc OK: the voltage inside a window and (if fitted) the supply's own contact, through an integrating debounce with
// separate times to assert and to release. It says that something burns: that it is an arc to the work is proved in pierce.

import { INPUT_SUPPLY_CONTACT } from '../wire/layout.gen';
import { decide, integrate, line } from './inputs';
import { below } from './numbers';
import { D, F, P, S } from './state';

/** Ticks of voltage that count as voltage, not as a disturbance. */
const AT_REST_TICKS = 20;

// What the mean voltage is; asked so often in a tick that it stands ready.
const NEAR_ZERO = 1;
const BELOW_WINDOW = 2;
const ABOVE_WINDOW = 4;

/** Sets the marks that the next four look at. */
export function readLevel(): void {
  const near_zero = below(F.mean_V, P.rest_V) ? NEAR_ZERO : 0;
  const window = F.mean_V < P.arc_low_V ? BELOW_WINDOW : F.mean_V > P.arc_high_V ? ABOVE_WINDOW : 0;
  F.level = near_zero | window;
}

export function nearZero(): bool {
  return (F.level & NEAR_ZERO) != 0;
}

export function belowWindow(): bool {
  return (F.level & BELOW_WINDOW) != 0;
}

export function aboveWindow(): bool {
  return (F.level & ABOVE_WINDOW) != 0;
}

export function insideWindow(): bool {
  return (F.level & (BELOW_WINDOW | ABOVE_WINDOW)) == 0;
}

export function readArc(): void {
  if (!S.trigger) {
    S.arc_ok = 0;
    S.arc_count = 0;
    S.voltage_seen = 0;
    S.proved = 0;
    S.verdict = 0;
    S.fired_ms = 0;
    return;
  }
  if (S.fired_ms < D.proof_begins_ticks) S.fired_ms++;
  if (!nearZero()) S.voltage_seen = 1;
  const contact = !D.contact_used || line(INPUT_SUPPLY_CONTACT);
  // The count runs to on × off, so that whole numbers give both times exactly.
  const on = D.arc_on_ticks;
  const off = D.arc_off_ticks;
  const down = belowWindow() ? D.arc_gone_down : on;
  S.arc_count = integrate(S.arc_count, insideWindow() && contact, off, down, on * off);
  S.arc_ok = decide(S.arc_ok, S.arc_count, on * off);
}

/** Ticks since the trigger went off, and voltage that is there although it has been off long enough. */
export function voltageAtRest(): bool {
  if (S.trigger) {
    S.trigger_off_ms = 0;
    S.at_rest_ms = 0;
    return false;
  }
  const longest = D.fall_ticks;
  if (S.trigger_off_ms < longest) S.trigger_off_ms++;
  S.at_rest_ms =
    S.trigger_off_ms < longest || nearZero() ? 0 : S.at_rest_ms < AT_REST_TICKS ? S.at_rest_ms + 1 : AT_REST_TICKS;
  return S.at_rest_ms >= AT_REST_TICKS;
}
