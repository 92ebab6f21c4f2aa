// The table at work: each advance is one tick, after which the cells tell where the torch is.
//
// A torch word takes the rest of its tick, so that the box sees every change of the request; an M5 at speed takes none. After M3 the first motion waits
// for the permit. When the permit is withdrawn later, the table brakes along the path, withdraws the request at rest, and the
// program is over: a lost arc is never struck again within a contour.
import { move, table } from './cells.gen';
import {
  BRAKING,
  DWELL,
  DWELLING,
  END,
  FINISHED,
  LATCHED_STOP,
  PERMIT_NOT_GIVEN,
  PERMIT_WITHDRAWN,
  RUNNING,
  STOPPED,
  TORCH_OFF,
  TORCH_ON,
  WAITING_FOR_PERMIT,
} from './codes';
import { enterStep, follow, isMove, placeAt } from './step';

const TICK_S: f64 = 1.0 / 1000.0;

/**
 * One tick of 1 ms.
 * @param motion_permit the box allows motion
 * @param latched_stop the box has stopped for good: brake at once, and withdraw the torch request
 */
export function advanceTable(motion_permit: bool, latched_stop: bool): void {
  table.x_steps = 0;
  table.y_steps = 0;
  if (table.state >= STOPPED) return;
  if (latched_stop) {
    table.torch_request = 0;
    table.corner_mm = Infinity;
    beginStop(LATCHED_STOP);
  } else if (table.permit_given != 0 && !motion_permit && table.watched != 0) beginStop(PERMIT_WITHDRAWN);
  if (table.state == BRAKING) brake();
  else if (table.state < BRAKING) run(motion_permit);
}

function beginStop(reason: i32): void {
  if (table.state == BRAKING) return;
  table.stop_reason = reason;
  table.stopped_at_s = move.start_s + table.step_s;
  if (table.feed_mm_s > 0) table.state = BRAKING;
  else halt();
}

function halt(): void {
  table.feed_mm_s = 0;
  table.torch_request = 0;
  table.corner_mm = Infinity;
  table.state = STOPPED;
}

function run(motion_permit: bool): void {
  let left_s = TICK_S;
  for (;;) {
    const moves = isMove(move.kind);
    if (!moves && move.kind != DWELL) {
      const at_speed = move.kind == TORCH_OFF && move.exit_mm_s > 0;
      torchWord();
      if (at_speed) continue;
      break;
    }
    if (moves && table.awaiting_permit != 0 && !takePermit(motion_permit)) return;
    table.state = moves ? RUNNING : DWELLING;
    const time_s = table.step_s + left_s;
    if (time_s < move.duration_s) {
      table.step_s = time_s;
      if (moves) {
        follow(time_s);
        table.feed_mm_s = move.speed_mm_s;
        takePlace();
      }
      break;
    }
    left_s = time_s - move.duration_s;
    if (moves) {
      table.feed_mm_s = move.exit_mm_s;
      placeAt(move.length_mm);
      takePlace();
    }
    enterStep(move.index + 1);
  }
  measureCorner();
}

/** @returns whether the first motion of the contour may start. */
function takePermit(motion_permit: bool): bool {
  if (motion_permit) {
    table.awaiting_permit = 0;
    table.permit_given = 1;
    return true;
  }
  if (table.state != WAITING_FOR_PERMIT) {
    table.state = WAITING_FOR_PERMIT;
    measureCorner();
  }
  if (<f64>++table.waited_ticks >= table.longest_wait_ticks) {
    table.stop_reason = PERMIT_NOT_GIVEN;
    table.stopped_at_s = move.start_s + table.step_s;
    halt();
  }
  return false;
}

function torchWord(): void {
  const on = move.kind == TORCH_ON;
  table.torch_request = i32(on);
  table.awaiting_permit = i32(on);
  table.permit_given = 0;
  table.waited_ticks = 0;
  table.state = RUNNING;
  if (on) {
    table.contour++;
    table.last_corner_mm = -Infinity;
    expectCorner();
  }
  if (move.kind == END) table.state = FINISHED;
  else enterStep(move.index + 1);
}

/** An M5 that the plan goes through lies on the way to rest. */
function passTorchOff(): void {
  table.torch_request = 0;
  enterStep(move.index + 1);
}

/** Brakes along the planned path; the plan brakes no harder, so a chain of moves never ends too soon. */
function brake(): void {
  const before_mm_s = table.feed_mm_s;
  const after_mm_s = max<f64>(0, before_mm_s - table.braking_mm_s2 * TICK_S);
  const braked_s = after_mm_s > 0 ? TICK_S : before_mm_s / table.braking_mm_s2;
  let travelled_mm = move.travelled_mm + ((before_mm_s + after_mm_s) / 2.0) * braked_s;
  table.feed_mm_s = after_mm_s;
  while (travelled_mm >= move.length_mm) {
    if (move.exit_mm_s == 0) {
      travelled_mm = move.length_mm;
      table.feed_mm_s = 0;
      break;
    }
    travelled_mm -= move.length_mm;
    enterStep(move.index + 1);
    if (move.kind == TORCH_OFF) passTorchOff();
  }
  placeAt(travelled_mm);
  takePlace();
  if (table.feed_mm_s == 0) halt();
  else measureCorner();
}

function takePlace(): void {
  table.x_mm = move.x_mm;
  table.y_mm = move.y_mm;
  table.dx = move.dx;
  table.dy = move.dy;
  // Here and not once a tick: the table stands still in most ticks. The steps of several places of one tick add up.
  const x_count = floor<f64>(move.x_mm * table.steps_per_mm + 0.5);
  const y_count = floor<f64>(move.y_mm * table.steps_per_mm + 0.5);
  table.x_steps += x_count - table.x_count;
  table.y_steps += y_count - table.y_count;
  table.x_count = x_count;
  table.y_count = y_count;
  if (table.torch_request == 0) return;
  table.path_mm = move.start_path_mm + move.travelled_mm;
  while (table.path_mm >= table.next_corner_mm) {
    table.last_corner_mm = table.next_corner_mm;
    table.next_corner++;
    expectCorner();
  }
}

function expectCorner(): void {
  const next = <usize>table.next_corner;
  const more =
    table.next_corner < table.corners && load<i32>(<usize>table.corner_contour_at + (next << 2)) == table.contour;
  table.next_corner_mm = more ? load<f64>(<usize>table.corner_path_at + (next << 3)) : Infinity;
}

function measureCorner(): void {
  table.corner_mm =
    table.torch_request == 1
      ? min<f64>(table.path_mm - table.last_corner_mm, table.next_corner_mm - table.path_mm)
      : Infinity;
}
