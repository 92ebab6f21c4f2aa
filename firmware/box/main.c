// The box: starts, then serves the link while the tick does its work.
#include "events.h"
#include "image.h"
#include "kept.h"
#include "link.h"
#include "module.h"
#include "parameters.h"
#include "port.h"
#include "services.h"
#include "status.h"

void box_trap(uint32_t kind) {
  port_rest();
  // A trap of the second copy comes from the idle loop: keep the tick from writing events meanwhile.
  if (!box_status.running) port_hold_ticks();
  events_add(EVENT_TRAP, kind, (int32_t)tick_number());
  port_restart(BOOT_TRAP);
}

static void noteStart(uint32_t cause, const Stopped *stopped) {
  events_add(EVENT_START, cause, 0);
  if (cause == BOOT_HARD_FAULT) events_add(EVENT_HARD_FAULT, 0, (int32_t)port_boot_detail());
  if (cause == BOOT_STACK) events_add(EVENT_STACK, 0, 0);
  if (cause == BOOT_HUNG) events_add(EVENT_HUNG, stopped->mode, (int32_t)stopped->tick);
}

void box_main(void) {
  uint32_t cause = port_boot_cause();
  Stopped stopped = kept_start(cause);
  noteStart(cause, &stopped);
  module_start();
  image_read_head();
  parameters_start();
  module_restart(MODULE_AT_PINS, stopped.fault_at_restart);
  services_start(&stopped);
  link_start();
  port_run();
  for (;;) {
    if (!link_work()) port_sleep();
  }
}
