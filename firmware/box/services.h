// Answers requests over the link. Only from the idle loop.
#ifndef STANDOFF_SERVICES_H
#define STANDOFF_SERVICES_H
#include <stdbool.h>
#include <stdint.h>

#include "frame.h"
#include "kept.h"

// To do once the answer is queued.
typedef struct {
  uint32_t speed; // change the line to this; 0: no
  bool leave;     // restart, with this cause (BOOT_*)
  uint32_t cause;
} Afterwards;

// Once, before ticks run.
void services_start(const Stopped *stopped);
// Turns a request that came over a way into its answer, in place. `elsewhere`: what it is about belongs to another way.
// False: not a request, nothing to send.
bool services_answer(Frame *frame, uint32_t way, bool elsewhere, Afterwards *afterwards);
// STATUS_DONE when the box may restart now.
uint32_t services_may_leave(void);

#endif
