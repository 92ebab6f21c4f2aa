// Memory that survives a restart: events, the last seconds, and the state of the box when it stopped by itself.
#ifndef STANDOFF_KEPT_H
#define STANDOFF_KEPT_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

#define KEPT_EVENTS 256u
#define KEPT_MOMENTS 500u
#define KEPT_SIGN_0 0x6f646e73u
#define KEPT_SIGN_1 0x90a1b2c3u

// Record numbers only count up; a record's place is its number modulo the ring's size, so no content of this memory can
// index outside it.
typedef struct {
  uint32_t sign[2];
  uint32_t starts; // of the box, since this memory was last cleared
  uint32_t next_event;
  uint32_t next_moment;
  uint32_t history_frozen; // kept for reading until the next cut begins
  uint32_t tick, mode, fault; // of the last tick
  wire_event events[KEPT_EVENTS];
  wire_moment moments[KEPT_MOMENTS];
} Kept;
_Static_assert(sizeof(Kept) <= KEPT_RAM_BYTES, "the kept memory is too small");

typedef struct {
  uint32_t tick, mode, fault; // when the box stopped by itself; 0 when it did not
  uint32_t fault_at_restart;  // that the module stood in at whatever restart; 0 after a power cut
} Stopped;

// Once, at the start. Keeps the contents unless the power was off.
Stopped kept_start(uint32_t boot_cause);
Kept *kept(void);

#endif
