// Parameters in flash: two sectors, each a copy with a CRC; the valid one with the higher generation counts. A new copy
// overwrites the one that does not count, so a power cut at any moment leaves the old or the new one whole.
#ifndef STANDOFF_STORE_H
#define STANDOFF_STORE_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

// Fills in as many values as there are (an older firmware knew fewer); returns the generation, 0 when nothing is stored.
uint32_t store_read(float values[PARAMETER_COUNT]);
// Stores these values under the next generation. False: the chip did not take them, and the old ones still count.
bool store_write(const float values[PARAMETER_COUNT]);
// Of the stored values; 0: none.
uint32_t store_generation(void);

#endif
