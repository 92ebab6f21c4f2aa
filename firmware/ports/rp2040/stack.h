// The stack lies below the variables and grows down, away from them, towards marked words that the 10 kHz interrupt checks.
// Until it notices, an overflow can only overwrite RAM behind the image; the code is read-only (MPU). A no-access region
// right below the stack was tried and dropped: its fault cannot be stacked either, so the processor locks up and only the
// watchdog recovers it, later and without the cause.
#ifndef STANDOFF_STACK_H
#define STANDOFF_STACK_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

#define STACK_MARK 0x4b415453u
#define STACK_MARKED_WORDS 8u

extern uint32_t code_begin[], code_end[], stack_end[], stack_top[]; // linker

static inline bool stackMarked(void) { return stack_end[0] == STACK_MARK && stack_end[1] == STACK_MARK; }
// In the 10 kHz interrupt.
static inline void stack_guard(void) {
  if (!stackMarked()) port_restart(BOOT_STACK);
}
// Fills the unused stack with the mark and makes code read-only.
void stack_start(void);
// Runs over the end, on purpose.
void stack_overrun(void);

#endif
