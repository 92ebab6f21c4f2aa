#include "kept.h"

static bool stoppedByItself(uint32_t cause) {
  return cause == BOOT_TRAP || cause == BOOT_HARD_FAULT || cause == BOOT_STACK || cause == BOOT_HUNG;
}

Kept *kept(void) { return port_kept_memory(); }

Stopped kept_start(uint32_t boot_cause) {
  Kept *here = kept();
  Stopped stopped = {0};
  bool old = here->sign[0] == KEPT_SIGN_0 && here->sign[1] == KEPT_SIGN_1;
  // After a power cut some bits may have survived and others not.
  if (!old || boot_cause == BOOT_POWER_UP) {
    __builtin_memset(here, 0, sizeof *here);
    here->sign[0] = KEPT_SIGN_0;
    here->sign[1] = KEPT_SIGN_1;
  } else {
    if (stoppedByItself(boot_cause)) {
      stopped = (Stopped){.tick = here->tick, .mode = here->mode, .fault = here->fault};
      here->history_frozen = 1;
    }
    stopped.fault_at_restart = here->fault;
  }
  here->starts++;
  return stopped;
}
