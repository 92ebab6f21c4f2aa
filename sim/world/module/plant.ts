// Sheet, torch, supply and sensing moved on by a millisecond at a time; the Z axis and the head that hangs on it. Nothing here
// knows what controls it.
import { ARC_BURNING, ARC_OUT, advanceArc, advanceContact, advanceFiring } from './arc';
import { arc, axis, BOUNCE_RANDOM, firing, head, kerf, place, plate, wires } from './cells.gen';
import { advanceKerf, restKerf } from './kerf';
import { advancePlate } from './plate';
import { chance } from './random';
import { advanceNoise, takeReadings } from './sensing';

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
  wires.reference = wires.reference_counts;
  wires.late = wires.late_tick;
  wires.x_tap = 1 - wires.dead_x_tap;
  wires.y_tap = 1 - wires.dead_y_tap;
}

/**
 * One millisecond of the axis: motor and carriage move.
 * @param steps signed, up positive; @param owned 0: the box's steps do not reach the motor
 */
function advanceAxis(steps: i32, owned: i32): void {
  if (owned == 0 && steps != 0) {
    axis.ignored_steps += abs<i32>(steps);
    steps = 0;
  }
  let motor_mm = axis.motor_mm;
  if (axis.unpowered != 0) {
    axis.lost_steps += abs<i32>(steps);
    axis.speed = 0;
    motor_mm -= axis.fall_mm;
  } else if (steps != 0 || axis.speed != 0) {
    motor_mm += <f64>followed(axis.reversed != 0 ? -steps : steps) * axis.mm_per_step;
  } else {
    return;
  }
  if (motor_mm > axis.stop_above_mm) motor_mm = stopAt(axis.stop_above_mm, motor_mm - axis.stop_above_mm);
  else if (motor_mm < axis.stop_below_mm) motor_mm = stopAt(axis.stop_below_mm, axis.stop_below_mm - motor_mm);
  axis.motor_mm = motor_mm;
  const lowest_mm = motor_mm - axis.half_backlash_mm;
  const carriage_mm = max<f64>(lowest_mm, min<f64>(motor_mm + axis.half_backlash_mm, axis.carriage_mm));
  axis.carriage_mm = carriage_mm;
  axis.top = i32(carriage_mm >= axis.top_mm);
}

/** The steps that the motor makes of those commanded; too sudden a stop makes it overrun. */
function followed(wanted: i32): i32 {
  let made = wanted;
  const speed = <f64>axis.speed;
  const highest = <i32>floor<f64>(min<f64>(speed + axis.jump_steps, axis.most_steps));
  const lowest = <i32>ceil<f64>(max<f64>(speed - axis.jump_steps, -axis.most_steps));
  if (made > highest) made = highest;
  else if (made < lowest) made = lowest;
  axis.speed = made;
  if (axis.lost_share > 0) {
    axis.lost_part += <f64>abs<i32>(made) * axis.lost_share;
    const whole = <i32>floor<f64>(axis.lost_part);
    axis.lost_part -= <f64>whole;
    made += made < 0 ? whole : -whole;
  }
  axis.lost_steps += abs<i32>(wanted - made);
  return made;
}

/** A travel stop: what the motor would have gone beyond it is lost. */
function stopAt(stop_mm: f64, beyond_mm: f64): f64 {
  axis.speed = 0;
  if (axis.unpowered == 0) axis.lost_steps += <i32>floor<f64>(beyond_mm / axis.mm_per_step + 0.5);
  return stop_mm;
}

/**
 * One millisecond of the head: true tip, true surface and standoff.
 *
 * Going down, the tip meets the sheet; the sheet gives until it carries the head's weight; then the head lifts in its
 * float, and the switch closes at the float travel. Going up, the switch opens when the tip hangs free again, so that
 * neither the spring of the sheet nor the float travel is in that height.
 * @param moving 1 while X or Y moves
 */
function advanceHead(moving: i32): void {
  if (head.arm_spring > 0) swing();
  const carriage_mm = axis.carriage_mm + head.swing_mm;
  const surface_mm = plate.surface_mm;
  // Off the sheet the slats, one thickness lower, are what the tip meets.
  const rest_mm = plate.off_sheet != 0 ? surface_mm - head.thickness_mm : surface_mm;
  if (carriage_mm > rest_mm) {
    head.touching = 0;
    head.torch_mm = carriage_mm;
    head.plate_mm = surface_mm;
    head.standoff_mm = max<f64>(0, carriage_mm - surface_mm);
    if (head.pressed != 0) change(0);
  } else {
    head.touching = 1;
    press(rest_mm, moving);
  }
  switchState();
}

/** An arm that gives: the tip is a mass on a spring behind the carriage. Semi-implicit Euler, stable far beyond 60 Hz. */
function swing(): void {
  const speed = axis.carriage_mm - head.carriage_before_mm;
  head.carriage_before_mm = axis.carriage_mm;
  const push = speed - head.carriage_speed;
  head.carriage_speed = speed;
  head.swing_speed -= head.arm_spring * head.swing_mm + head.arm_damping * head.swing_speed + push;
  head.swing_mm += head.swing_speed;
  if (abs<f64>(head.swing_mm) + abs<f64>(head.swing_speed) < 1e-9) {
    head.swing_mm = 0;
    head.swing_speed = 0;
  }
}

function press(rest_mm: f64, moving: i32): void {
  const off_sheet = plate.off_sheet != 0;
  const overlap_mm = rest_mm - axis.carriage_mm;
  const turns = place.x_mm * head.per_pitch;
  const between = turns - floor<f64>(turns);
  // The sheet's give between two slats as a parabola: none on a slat, all half-way.
  const full_mm = off_sheet ? 0 : head.compliance_mm * 4.0 * between * (1.0 - between);
  const give_mm = min<f64>(overlap_mm, full_mm);
  const lift_mm = overlap_mm - give_mm;
  head.torch_mm = rest_mm - give_mm;
  head.plate_mm = off_sheet ? plate.surface_mm : rest_mm - give_mm;
  head.standoff_mm = 0;
  if (head.pressed == 0 && lift_mm >= head.float_travel_mm) change(1);
  if (lift_mm >= head.float_max_mm || (moving != 0 && overlap_mm >= head.breakaway_mm)) head.in_holder = 0;
}

function change(state: i32): void {
  head.pressed = state;
  head.bounce_left = head.bounce_ms;
}

function switchState(): void {
  head.touch = head.pressed;
  if (head.bounce_left > 0) {
    head.bounce_left--;
    // The first instant always shows the new state; the last one settles it.
    if (head.bounce_left > 0 && head.bounce_left < head.bounce_ms - 1 && chance(BOUNCE_RANDOM, 0.5)) {
      head.touch = 1 - head.touch;
    }
  }
  if (head.never_closes != 0) head.touch = 0;
  if (head.stuck != 0) head.touch = head.stuck_state;
}
