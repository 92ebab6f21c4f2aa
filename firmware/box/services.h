// What the box does when it is asked over the link. Only from the idle loop.
#ifndef STANDOFF_SERVICES_H
#define STANDOFF_SERVICES_H
#include <stdbool.h>
#include <stdint.h>

#include "frame.h"
#include "kept.h"

// What is to be done once the answer is on its way.
typedef struct {
  uint32_t speed; // change the line to this; 0: no
  bool loader;    // restart into the loader
} Afterwards;

// Once, before ticks run.
void services_start(const Stopped *stopped);
// Turns a request into its answer, in place. False: it was none, and nothing is sent.
bool services_answer(Frame *frame, Afterwards *afterwards);
// STATUS_DONE when the box may be left for the loader now.
uint32_t services_may_leave(void);

#endif
