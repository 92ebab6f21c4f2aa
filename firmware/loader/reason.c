#include "reason.h"

#include "handover.h"
#include "wire.gen.h"

static bool ours(uint32_t word) { return (word & RESET_MARK_MASK) == RESET_MARK; }

Reason reason_of(bool by_watchdog, uint32_t cause, uint32_t ran, bool image_valid) {
  Reason reason = {.cause = BOOT_POWER_UP};
  if (by_watchdog && ours(cause)) {
    reason.cause = cause & (RESTART_AT_ONCE - 1u);
    reason.at_once = (cause & RESTART_AT_ONCE) != 0;
  } else if (by_watchdog && ours(ran)) {
    reason.cause = BOOT_HUNG;
  }
  if (by_watchdog && ours(ran)) {
    reason.failures = ran & RAN_FAILURES;
    reason.trial = (ran & RAN_TRIAL) != 0;
    bool by_itself = reason.cause == BOOT_TRAP || reason.cause == BOOT_HARD_FAULT || reason.cause == BOOT_STACK ||
                     reason.cause == BOOT_HUNG;
    if (by_itself && (ran & RAN_YOUNG) != 0) reason.failures++;
  }
  // Another image than the one that ran.
  bool other = reason.cause == BOOT_UPDATE || reason.cause == BOOT_ROLLED_BACK;
  if (other) reason.failures = 0;
  if (other) reason.trial = reason.cause == BOOT_UPDATE;
  if (reason.failures >= FAILURES_MOST) reason.cause = BOOT_IMAGE_FAILS;
  if (!image_valid) reason.cause = BOOT_NO_IMAGE;
  reason.stay =
      reason.cause == BOOT_LOADER || reason.cause == BOOT_IMAGE_FAILS || reason.cause == BOOT_NO_IMAGE;
  return reason;
}

uint32_t reason_kept(const Reason *reason) {
  uint32_t failures = reason->failures < FAILURES_MOST ? reason->failures : 0u;
  return RESET_MARK | failures | (reason->trial ? RAN_TRIAL : 0u);
}
