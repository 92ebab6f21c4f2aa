#ifndef STANDOFF_CLOCKS_H
#define STANDOFF_CLOCKS_H
#include <stdint.h>

#include "registers.h"

// Crystal 12 MHz → processor and peripherals CLOCK_HZ, USB and converter 48 MHz, timer and watchdog 1 µs. May be called again.
// Returns only once the crystal runs.
void clocks_start(void);
// Microseconds since some start, wrapping.
static inline uint32_t clock_us(void) { return REGISTER(TIMER_RAWL); }

#endif
