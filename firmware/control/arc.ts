// Arc OK: the voltage inside a window, after a fall from the no-load or pilot voltage, and (if fitted) the
// supply's own contact, through an integrating debounce with separate times to assert and to release.

import { LINE_SUPPLY_CONTACT } from '../wire/layout';
import { decide, integrate } from './debounce';
import { line } from './inputs';
import { F, P, S } from './state';

/** Ticks of voltage that count as voltage, not as a disturbance. */
const AT_REST_TICKS = 20;

export function nearZero(): bool {
  return F.mean_V < P.rest_V && F.mean_V > -P.rest_V;
}

export function aboveWindow(): bool {
  return F.mean_V > P.arc_high_V;
}

export function insideWindow(): bool {
  return F.mean_V >= P.arc_low_V && !aboveWindow();
}

export function readArc(): void {
  if (!S.trigger) {
    S.arc_ok = 0;
    S.arc_count = 0;
    S.no_load_seen = 0;
    S.voltage_seen = 0;
    return;
  }
  if (F.mean_V > P.transfer_V) S.no_load_seen = 1;
  if (!nearZero()) S.voltage_seen = 1;
  const contact = P.supply_contact < <f32>0.5 || line(LINE_SUPPLY_CONTACT);
  const transferred = S.arc_ok || (S.no_load_seen && F.mean_V <= P.transfer_V);
  // The count runs to on × off, so that whole numbers give both times exactly.
  const on = <i32>P.arc_on_ms;
  const off = <i32>P.arc_off_ms;
  S.arc_count = integrate(S.arc_count, insideWindow() && contact && transferred, off, on, on * off);
  S.arc_ok = decide(S.arc_ok, S.arc_count, on * off);
}

/** Ticks since the trigger went off, and voltage that is there although it has been off long enough. */
export function voltageAtRest(): bool {
  if (S.trigger) {
    S.trigger_off_ms = 0;
    S.at_rest_ms = 0;
    return false;
  }
  const longest = <i32>P.fall_ms;
  if (S.trigger_off_ms < longest) S.trigger_off_ms++;
  S.at_rest_ms =
    S.trigger_off_ms < longest || nearZero() ? 0 : S.at_rest_ms < AT_REST_TICKS ? S.at_rest_ms + 1 : AT_REST_TICKS;
  return S.at_rest_ms >= AT_REST_TICKS;
}
