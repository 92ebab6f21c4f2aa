// The millisecond: inputs, control module, outputs, and what is written down of it.
#ifndef STANDOFF_TICK_H
#define STANDOFF_TICK_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

// Ticks since the start. The first has number 1.
uint32_t tick_number(void);
// True while a tick is under way, also for what it calls.
bool tick_runs(void);
// Longest since the start, processor cycles, without the last few instructions.
uint32_t tick_worst_cycles(void);
// STATUS_DONE when what is in use may be changed: key off, at rest, no voltage; else why not.
uint32_t tick_may_change(void);
// While true the outputs rest, whatever the module says.
void tick_rest_outputs(bool rest);
// The arm key as the last tick had it.
bool tick_key_on(void);

#endif
