// Why the chip started, and what the loader does about it: a function of what survived the reset.
#ifndef STANDOFF_REASON_H
#define STANDOFF_REASON_H
#include <stdbool.h>
#include <stdint.h>

#define FAILURES_MOST 3u // starts in a row that ended by themselves while the image was young

typedef struct {
  uint32_t cause;    // BOOT_*
  uint32_t failures; // starts in a row that ended by themselves while the image was young
  bool trial;        // the image is on trial: new, and since it was written the power was never off
  bool stay;         // in the loader
  bool at_once;      // no listening before the image starts
} Reason;

// `by_watchdog`: the chip's reason register is not 0; `cause` and `ran`: the scratch registers of reset.h.
Reason reason_of(bool by_watchdog, uint32_t cause, uint32_t ran, bool image_valid);
// What `ran` is to hold when the loader restarts without having started the image: a restart neither counts nor forgives,
// but one that is asked for after the last failure.
uint32_t reason_kept(const Reason *reason);

#endif
