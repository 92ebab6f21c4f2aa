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
  bool loader;    // restart into the loader
} Afterwards;

// Once, before ticks run.
void services_start(const Stopped *stopped);
// Turns a request into its answer, in place. False: not a request, nothing to send.
bool services_answer(Frame *frame, Afterwards *afterwards);
// STATUS_DONE when the box may be left for the loader now.
uint32_t services_may_leave(void);

#endif
