// From the trigger to the arc. V = voltage at cut + slope · (length − cut standoff), with length = standoff + what feed and missing metal
// add to it, and less and less for long arcs.
import {
  arc,
  DOUBLE_RANDOM,
  firing,
  head,
  JUMP_RANDOM,
  kerf,
  PILOT_RANDOM,
  place,
  plate,
  SPATTER_RANDOM,
  STRIKE_RANDOM,
  supply,
  wires,
} from './cells.gen';
import { beginPuddle } from './plate';
import { chance, exponentialDraw, gaussian } from './random';

/** Less than this is nothing: a lag that faded into denormal numbers would slow the processor down a hundredfold. */
const TINY: f64 = 1e-12;

/** What the supply and the arc do; out is also the time in which the voltage decays. */
export const ARC_OUT: i32 = 0;
const ARC_NO_LOAD: i32 = 1;
const ARC_PILOT: i32 = 2;
export const ARC_BURNING: i32 = 3;

/** One millisecond. @param call 1 while the supply is asked to burn */
export function advanceArc(call: i32): void {
  arc.before_V = arc.true_V;
  if (arc.to_renew != arc.renewed && arc.state == ARC_OUT) renew();
  if (arc.state == ARC_BURNING) {
    burn(call);
  } else if (call == 0) {
    arc.ready = 1;
    goOut();
  } else if (arc.state == ARC_OUT) {
    if (arc.ready == 0) goOut();
    else begin();
  } else {
    wait();
  }
}

/** New consumables: what the old ones had worn is gone, and the new ones differ by some volts. */
function renew(): void {
  arc.renewed = arc.to_renew;
  if (arc.renewed == 0) return;
  arc.used_V = arc.renewed_V;
  arc.starts = 0;
  arc.on_ms = 0;
}

function begin(): void {
  arc.state = ARC_NO_LOAD;
  arc.since_ms = 0;
  arc.fails = i32(chance(STRIKE_RANDOM, arc.fail_chance));
  arc.true_V = arc.no_load_V;
}

function wait(): void {
  arc.since_ms++;
  if (arc.never_starts != 0) return;
  if (arc.state == ARC_NO_LOAD && <f64>arc.since_ms >= arc.no_load_ms) {
    // The electrode touches the nozzle until the air lifts it: nothing stands against the work.
    if (<f64>arc.since_ms >= arc.contact_end_ms) arc.state = ARC_PILOT;
    else arc.true_V = 0;
  }
  if (arc.state == ARC_PILOT) arc.true_V = pilot_V();
  if (arc.state == ARC_NO_LOAD || <f64>arc.since_ms < arc.strike_ms || arc.fails != 0) return;
  // Wholly missing metal (past the edge, over a hole) gives the arc nothing to transfer to.
  if (head.standoff_mm > arc.transfer_mm || kerf.ahead >= 1) return;
  arc.state = ARC_BURNING;
  arc.starts++;
  arc.off_wait_ms = 0;
  arc.stretched_ms = 0;
  arc.feed_V = 0;
  arc.excess = 1;
  arc.missing = kerf.ahead;
  arc.burnt_ms = 0;
  arc.true_V = wanted_V();
  beginPuddle();
}

/** It jumps to one of two levels beside its mean and back, and wanders. */
function pilot_V(): f64 {
  if (arc.pilot_jump_chance > 0 && chance(PILOT_RANDOM, arc.pilot_jump_chance)) {
    const height_V = chance(PILOT_RANDOM, 0.5) ? arc.pilot_jump_V : -arc.pilot_jump_V;
    arc.pilot_jumped_V = arc.pilot_jumped_V == 0 || chance(PILOT_RANDOM, 0.5) ? height_V : 0;
  }
  if (arc.pilot_wander_gain > 0) {
    const wander_V = arc.pilot_wander_V * arc.pilot_wander_keep + arc.pilot_wander_gain * gaussian(PILOT_RANDOM);
    arc.pilot_wander_V = wander_V;
  }
  return max<f64>(0, arc.pilot_V + arc.pilot_jumped_V + arc.pilot_wander_V);
}

function burn(call: i32): void {
  arc.on_ms++;
  const slow = max<f64>(-1, 1.0 - place.feed_mm_s * arc.per_nominal);
  const feed_V = arc.feed_V + arc.feed_share * (arc.feed_effect_V * slow - arc.feed_V);
  const missing = arc.missing + arc.front_share * (kerf.ahead - arc.missing);
  arc.feed_V = feed_V > TINY || feed_V < -TINY ? feed_V : 0;
  arc.missing = missing > TINY ? missing : 0;
  if (arc.jump_V > 0) jump();
  if (arc.double_V > 0) doubleArc();
  const volts = wanted_V();
  arc.true_V = arc.source_share < 1 ? arc.true_V + arc.source_share * (volts - arc.true_V) : volts;
  arc.stretched_ms = arc.length_mm > arc.reach_mm ? arc.stretched_ms + 1 : 0;
  arc.off_wait_ms = call == 0 ? arc.off_wait_ms + 1 : 0;
  if (<f64>arc.stretched_ms > arc.reach_ms || <f64>arc.off_wait_ms > arc.off_ms || arc.goes_out != 0) {
    arc.ready = call == 0 ? 1 : arc.restrikes;
    goOut();
  }
}

/** A root of the arc that moves, or a double arc: the voltage stands elsewhere for a while. */
function jump(): void {
  if (arc.jump_left_ms > 0 && --arc.jump_left_ms <= 0) arc.jumped_V = 0;
  if (--arc.jump_wait_ms > 0) return;
  arc.jump_wait_ms += arc.jump_mean_ms * exponentialDraw(JUMP_RANDOM);
  arc.jump_left_ms = arc.jump_ms;
  arc.jumped_V = chance(JUMP_RANDOM, 0.5) ? arc.jump_V : -arc.jump_V;
}

/** The arc burns through the nozzle for a while: its voltage is lower. */
function doubleArc(): void {
  if (arc.double_left_ms > 0) arc.double_left_ms--;
  if (--arc.double_wait_ms > 0) return;
  arc.double_wait_ms += arc.double_mean_ms * exponentialDraw(DOUBLE_RANDOM);
  arc.double_left_ms = arc.double_ms;
}

/** What the arc wants; the supply’s voltage follows it. */
function wanted_V(): f64 {
  const added_V = arc.feed_V + arc.crossing_V * arc.missing;
  // Faster than nominal the arc is shorter by the feed effect, and answers to the standoff as ever.
  const length_mm = max<f64>(0, head.standoff_mm + plate.beyond_mm + kerf.dropped_mm) + added_V * arc.per_slope;
  arc.length_mm = length_mm;
  let counted_mm = length_mm;
  const excess_mm = length_mm - arc.roll_from_mm;
  if (excess_mm > 0) counted_mm = arc.roll_from_mm + excess_mm / (1.0 + excess_mm * arc.per_roll);
  let volts = arc.cut_V + arc.slope * (counted_mm - arc.cut_mm);
  volts += arc.wear_V_per_start * <f64>arc.starts + arc.wear_V_per_ms * <f64>arc.on_ms;
  volts += arc.used_V;
  if (arc.double_left_ms > 0) volts -= arc.double_V;
  const excess = arc.excess;
  if (excess > 0) {
    volts += excess * (arc.excess_V + arc.spatter_V * gaussian(SPATTER_RANDOM));
    arc.excess = excess > 1e-4 ? excess * arc.excess_keep : 0;
  }
  // The pilot goes on beside the arc for a while, and hides it.
  if (<f64>arc.burnt_ms < arc.pilot_persists_ms) {
    arc.burnt_ms++;
    return pilot_V();
  }
  return max<f64>(0, volts + arc.jumped_V);
}

function goOut(): void {
  arc.state = ARC_OUT;
  arc.length_mm = 0;
  arc.missing = 0;
  arc.true_V = arc.true_V > 1e-6 ? arc.true_V * arc.fall_keep : 0;
}

/** One millisecond of relay, trigger and latch. @param trigger the box's output; @param burning 1 while the arc burns */
export function advanceFiring(trigger: i32, burning: i32): void {
  const wanted = i32(trigger != 0);
  if (wanted == firing.relay) {
    firing.waited_ms = 0;
  } else if (wanted == 1 || firing.welded == 0) {
    if (firing.waited_ms >= (wanted == 1 ? firing.close_ms : firing.release_ms)) {
      firing.relay = wanted;
      firing.waited_ms = 0;
    } else {
      firing.waited_ms++;
    }
  }
  const pulled = firing.relay | firing.hand;
  if (firing.latching != 0 || firing.latched != 0) {
    // A latch takes the first pull to go on, and needs a second pull to go off while the arc burns.
    if (pulled > firing.pulled) firing.call = firing.call != 0 && burning != 0 ? 0 : 1;
    else if (pulled == 0 && burning == 0) firing.call = 0;
  } else {
    firing.call = pulled;
  }
  firing.pulled = pulled;
}

/** The supply's own arc-OK contact, with its delay. */
export function advanceContact(burning: i32): void {
  if (burning == supply.contact) supply.contact_wait_ms = 0;
  else if (supply.contact_wait_ms >= supply.contact_delay_ms) supply.contact = burning;
  else supply.contact_wait_ms++;
  if (supply.contact_missing != 0) supply.contact = 0;
  wires.contact = supply.contact;
}
