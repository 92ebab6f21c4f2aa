// What is carried through a reset in the watchdog's scratch registers, between loader and box. They are lost with the
// power and with the reset pin, and kept through a watchdog reset (RP2040 data sheet 4.7.2). 4 to 7 belong to the boot ROM.
#ifndef STANDOFF_RESET_H
#define STANDOFF_RESET_H
#include <stdbool.h>
#include <stdint.h>

#include "../../loader/handover.h"
#include "registers.h"

#define SCRATCH_CAUSE WATCHDOG_SCRATCH(0)   // of a deliberate restart: RESET_MARK + BOOT_*, else 0
#define SCRATCH_RAN WATCHDOG_SCRATCH(1)     // what ran: RESET_MARK + RAN_*, else 0
#define SCRATCH_DETAIL WATCHDOG_SCRATCH(2)  // program counter of a hard fault
#define SCRATCH_HANDED WATCHDOG_SCRATCH(3)  // loader to box: RESET_MARK + cause + slot × 256

// True when the scratch register holds a word of ours.
static inline bool scratchHas(uint32_t scratch) { return (REGISTER(scratch) & RESET_MARK_MASK) == RESET_MARK; }
static inline uint32_t scratchGet(uint32_t scratch) { return REGISTER(scratch) & ~RESET_MARK_MASK; }
static inline void scratchPut(uint32_t scratch, uint32_t value) { REGISTER(scratch) = RESET_MARK | value; }

// The watchdog counts down twice a microsecond (data sheet, erratum RP2040-E1).
static inline void watchdogStart(uint32_t ms) {
  CLEAR_BITS(WATCHDOG_CTRL) = WATCHDOG_ENABLE;
  REGISTER(PSM_WDSEL) = PSM_ALL & ~PSM_OSCILLATORS;
  REGISTER(WATCHDOG_LOAD) = ms * 2000u;
  SET_BITS(WATCHDOG_CTRL) = WATCHDOG_ENABLE;
}
static inline void watchdogStop(void) { CLEAR_BITS(WATCHDOG_CTRL) = WATCHDOG_ENABLE; }

_Noreturn static inline void resetNow(void) {
  REGISTER(PSM_WDSEL) = PSM_ALL & ~PSM_OSCILLATORS;
  REGISTER(WATCHDOG_CTRL) = WATCHDOG_TRIGGER;
  for (;;) {
  }
}

#endif
