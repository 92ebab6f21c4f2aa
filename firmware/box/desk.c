#include "desk.h"

#include "events.h"
#include "lockstep.h"
#include "status.h"

static uint32_t mayBegin(void) {
  if (status_key_on()) return STATUS_KEY;
  if (lockstep_runs()) return STATUS_LOCKSTEP;
  bool stands = box_status.mode == MODE_REST || box_status.mode == MODE_FAULT;
  // A fault may still retract Z.
  if ((box_status.digital_outputs & ~OUTPUT_LATCHED_STOP) != 0) return STATUS_BUSY;
  return box_status.number != 0 && stands ? STATUS_DONE : STATUS_BUSY;
}

uint32_t desk_begin(void) {
  if (port_at_desk()) return status_key_on() ? STATUS_KEY : STATUS_DONE;
  // No tick may turn the box into one that cuts between the question and the answer.
  port_hold_ticks();
  uint32_t status = mayBegin();
  if (status == STATUS_DONE) port_desk();
  port_release_ticks();
  if (status == STATUS_DONE) events_add_idle(EVENT_DESK, 0, 0);
  return status;
}

uint32_t desk_may_end(void) {
  if (status_key_on()) return STATUS_KEY;
  if (!port_at_desk()) return STATUS_NOT_BEGUN;
  return lockstep_runs() ? STATUS_LOCKSTEP : STATUS_DONE;
}
