// The stack lies below the variables and grows down, away from them, to marked words that the 10 kHz interrupt looks at.
// What it may run over until then is memory behind the image; the code itself cannot be written (the processor's memory
// protection). A region without access right below the stack was tried and left out: the fault that it raises cannot be
// stacked either, so the processor locks up and only the watchdog gets it out, later and without the cause.
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
// Marks the unused stack and makes code read-only.
void stack_start(void);

#endif
