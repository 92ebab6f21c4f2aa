// Parameters through power-off: two sectors, each one copy with a CRC; the valid one with the higher generation counts. A
// new copy goes over the one that does not count, so that a power cut at any moment leaves the old or the new, whole.
#ifndef STANDOFF_STORE_H
#define STANDOFF_STORE_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

// Fills in as many values as there are (an older firmware knew fewer); returns the generation, 0 when nothing is kept.
uint32_t store_read(float values[PARAMETER_COUNT]);
// Keeps these values under the next generation. False: the chip did not take them, and the old ones are still kept.
bool store_write(const float values[PARAMETER_COUNT]);
// Of what is kept; 0: nothing.
uint32_t store_generation(void);

#endif
