// Sheet, torch, supply and sensing moved on by a millisecond at a time. Nothing here knows what controls it.
import { ARC_BURNING, ARC_OUT, advanceArc, advanceContact, advanceFiring } from './arc';
import { advanceAxis, advanceHead } from './axis';
import { arc, axis, firing, head, kerf, place, wires } from './cells.gen';
import { advanceKerf, restKerf } from './kerf';
import { advancePlate } from './plate';
import { advanceNoise, takeReadings } from './sensing';

/** The board's own reference, halved, in a converter of 12 bits. */
const REFERENCE_COUNTS: i32 = 2048;

/** Where the table will be at the end of the coming millisecond. */
export function moveTo(x_mm: f64, y_mm: f64, feed_mm_s: f64, path_mm: f64, direction_x: f64, direction_y: f64): void {
  place.moved = i32(x_mm != place.x_mm || y_mm != place.y_mm);
  place.x_mm = x_mm;
  place.y_mm = y_mm;
  place.feed_mm_s = feed_mm_s;
  place.path_mm = path_mm;
  place.direction_x = direction_x;
  place.direction_y = direction_y;
}

/**
 * One millisecond, to the place that was given last.
 * @param z_steps signed, up positive; @param trigger the box's trigger output; @param z_owned 0: the multiplexer lets no step
 * of the box through; @param readings where the ten readings go
 */
export function advancePlant(z_steps: i32, trigger: i32, z_owned: i32, readings: usize): void {
  const moved = place.moved;
  const moving = moved & place.placed;
  place.moved = 0;

  advanceAxis(z_steps, z_owned);
  advancePlate(moved | (1 - place.placed), arc.burning);
  place.placed = 1;
  advanceHead(moving);

  advanceFiring(trigger, arc.burning);
  const call = firing.call;
  if (arc.state != ARC_OUT || call != 0) advanceKerf(arc.burning);
  else restKerf();
  advanceArc(call);
  const burning = i32(arc.state == ARC_BURNING);

  advanceNoise();
  takeReadings(readings);

  countContact(burning | call | moving);
  advanceContact(burning);
  arc.burning = burning;
  arc.crossing = kerf.removed > 0 ? burning : 0;
  leaveWires();
}

function countContact(counts: i32): void {
  if (head.touching == 0) wires.in_contact = 0;
  else if (counts != 0 && wires.in_contact == 0) {
    wires.in_contact = 1;
    wires.contacts++;
  }
}

/** What the box gets in the next tick. */
function leaveWires(): void {
  wires.touch = head.touch;
  wires.breakaway = head.in_holder;
  wires.top = axis.top;
  wires.readback = wires.stuck_readback != 0 ? wires.stuck_readback_state : firing.relay;
  wires.reference = wires.reference_off != 0 ? wires.reference_counts : REFERENCE_COUNTS;
  wires.late = wires.late_tick;
  wires.x_tap = 1 - wires.dead_x_tap;
  wires.y_tap = 1 - wires.dead_y_tap;
}
