// The event log: a ring that a restart does not clear.
#ifndef STANDOFF_EVENTS_H
#define STANDOFF_EVENTS_H
#include <stdint.h>

#include "port.h"

// From the tick, or before ticks run.
void events_add(uint32_t kind, uint32_t detail, int32_t value);
// From the idle loop.
void events_add_idle(uint32_t kind, uint32_t detail, int32_t value);

// Copies events from number `first` on, at most `most`; a number no longer kept becomes the oldest. From the idle loop.
// Returns how many; head says which.
uint32_t events_read(uint32_t first, uint32_t most, wire_events *head, wire_event *events);

#endif
