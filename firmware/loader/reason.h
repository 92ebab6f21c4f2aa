// Why the chip started, and what the loader does about it: a function of what survived the reset.
#ifndef STANDOFF_REASON_H
#define STANDOFF_REASON_H
#include <stdbool.h>
#include <stdint.h>

#define FAILURES_MOST 3u // starts in a row that ended within their first second

typedef struct {
  uint32_t cause;    // BOOT_*
  uint32_t failures; // starts in a row that ended within their first second
  bool stay;         // in the loader
  bool at_once;      // no listening before the image starts
} Reason;

// `by_watchdog`: the chip's reason register is not 0; `cause` and `ran`: the scratch registers of reset.h.
Reason reason_of(bool by_watchdog, uint32_t cause, uint32_t ran, bool image_valid);

#endif
