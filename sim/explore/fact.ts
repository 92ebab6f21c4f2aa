// What an invariant may ask about a tick, beside the keys before and after it: bits of one number. TypeScript asks,
// AssemblyScript (module/facts.ts) answers: both compile this file.

export const key = 1 << 0;
export const request = 1 << 1;
export const stop_chain = 1 << 2;
/** The supply's contact is closed. */
export const contact = 1 << 3;
export const reset = 1 << 4;
/** The tick before was late. */
export const late = 1 << 5;
/** X and Y had moved for the time that counts as stray; before the motion permit, that counts as early. */
export const stray_lasted = 1 << 6;
/** There had been voltage for its time, long after trigger off. */
export const voltage_lasted = 1 << 7;
/** The debounce of the arc has run out, and the voltage is outside the arc window. */
export const arc_gone = 1 << 8;
/** The voltage is inside the arc window. */
export const arc_voltage = 1 << 9;
export const z_up = 1 << 10;
export const z_down = 1 << 11;
/** Four bits: the refusal. */
export const refusal = 1 << 12;
/** The key, the request had been off for long enough before this tick. */
export const key_was_off_long = 1 << 16;
export const request_was_off_long = 1 << 17;
/** Reset was on in the tick before. */
export const reset_was_on = 1 << 18;
/** The mean of the arc voltage is within rest_V of 0. */
export const near_zero = 1 << 19;
/** The torch is in its holder, as the switch has settled. */
export const seated = 1 << 20;
/**
 * Z stands at the height that belongs to its mode: in strike pierce height above the touched sheet, in pierce no lower than
 * that, else cut height. In lift a stroke above pierce height leads no higher than where Z was taken over.
 */
export const height = 1 << 21;
/** The firing contact had been closed against the trigger for its time; it is closed. */
export const contact_lasted = 1 << 22;
export const firing_contact = 1 << 25;
/** Z stands where the box took it over; a step of Z has led further above that, or further below its bounds. */
export const taken_over = 1 << 23;
export const outward = 1 << 24;
/** The hold input is on, as it has settled, and has not used up its path. */
export const held = 1 << 26;
/** The table has moved since the motion permit. */
export const moved = 1 << 27;
/** The reset of this tick is remembered for the next. */
export const reset_kept = 1 << 28;
/** The touch-off switch is closed, as it has settled: in the first tick of a search; from lift to hold, for its time. */
export const closed_in_time = 1 << 29;
/** The outputs are to rest. */
export const resting = 1 << 30;
/** The table had stood still for its time under the motion permit. */
export const stood = 1 << 31;

/** A key or a request counts as withdrawn after this many ticks off without a break. */
export const WITHDRAWN_TICKS = 30;
/** A firing contact that is closed against the trigger for this many ticks has not opened. */
export const RELAY_TICKS = 200;
