// The sign of life on the board's own LED, of box and loader: who runs is seen by how it blinks, and that it runs by that it
// blinks at all. `ms` counts milliseconds, or ticks.
#ifndef STANDOFF_HEARTBEAT_H
#define STANDOFF_HEARTBEAT_H
#include <stdbool.h>
#include <stdint.h>

// One short flash a second, two short ones a second, or four a second.
typedef enum { HEARTBEAT_BOX, HEARTBEAT_DESK, HEARTBEAT_LOADER } Heartbeat;

static inline bool heartbeat_lit(Heartbeat which, uint32_t ms) {
  uint32_t phase = (ms >> 6) & 15u; // sixteenths of 1024 ms
  if (which == HEARTBEAT_LOADER) return (phase & 3u) < 2u;
  return phase == 0 || (which == HEARTBEAT_DESK && phase == 2u);
}

#endif
