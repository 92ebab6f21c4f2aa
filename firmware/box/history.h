// The last seconds, sampled. Frozen at a fault or a restart until the next cut begins.
#ifndef STANDOFF_HISTORY_H
#define STANDOFF_HISTORY_H
#include <stdint.h>

#include "wire.gen.h"

#define HISTORY_EVERY_ms 10u

// From the tick. Records every HISTORY_EVERY_ms, and at every fault.
void history_take(uint32_t digital_outputs);
// Copies records from number `first` on, at most `most`; a number no longer kept becomes the oldest. From the idle loop.
uint32_t history_read(uint32_t first, uint32_t most, wire_history *head, wire_moment *moments);

#endif
