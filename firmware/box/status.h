// State published by the last tick: its number, the key, whether anything may be changed. Written by the tick alone; this
// file includes nothing of it.
#ifndef STANDOFF_STATUS_H
#define STANDOFF_STATUS_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

typedef struct {
  uint32_t number;       // ticks since the start; the first has number 1
  uint32_t digital_inputs; // INPUT_* of the last one
  uint32_t mode, fault;  // of the module at the pins
  uint32_t digital_outputs, flags;
  bool relay;            // readback: the firing contact is closed
  bool running;          // a tick is under way, also for what it calls
  uint32_t worst_cycles; // longest tick since the start, processor cycles, without the last few instructions
} Status;
// Written by the tick alone.
extern volatile Status box_status;

static inline uint32_t tick_number(void) { return box_status.number; }
static inline bool status_key_on(void) { return (box_status.digital_inputs & INPUT_KEY) != 0; }
// The module at the pins has a fault, or its latched stop is set.
static inline bool status_faulted(void) {
  return box_status.fault != FAULT_NONE || (box_status.digital_outputs & OUTPUT_LATCHED_STOP) != 0;
}
// STATUS_DONE when parameters may be changed: key off, and either in the desk state or at rest without voltage; else why not.
uint32_t status_may_change(void);

#endif
