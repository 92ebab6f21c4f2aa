// The stack lies below the variables and grows down towards a guard: first marked words that every round looks at, then
// a region that silicon refuses to write (the memory protection unit). An overflow never reaches a variable.
#ifndef STANDOFF_STACK_H
#define STANDOFF_STACK_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

#define STACK_MARK 0x4b415453u
#define STACK_MARKED_WORDS 16u

extern uint32_t stack_guard_region[], stack_end[], stack_top[]; // linker

static inline bool stackMarked(void) { return stack_end[0] == STACK_MARK && stack_end[1] == STACK_MARK; }
// In the 10 kHz interrupt.
static inline void stack_guard(void) {
  if (!stackMarked()) port_restart(BOOT_STACK);
}
// Marks the unused stack and closes the guard region.
void stack_start(void);

#endif
