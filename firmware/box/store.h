// Parameters in flash: three sectors, each a copy with a CRC that says which image kept it. An image takes the newest copy
// of its own or of an older image that knew no more parameters, never one of a newer image or of another of the same age: after
// the box went back it runs with what it last ran with. A
// new copy overwrites one that neither this image takes nor the one in the other slot, so a power cut at any moment leaves the
// old or the new one whole, and the other image keeps what is its.
#ifndef STANDOFF_STORE_H
#define STANDOFF_STORE_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

// Fills in as many values as there are (an older firmware knew fewer); returns the generation, 0 when none is taken.
uint32_t store_read(float values[PARAMETER_COUNT]);
// Stores these values under the next generation; nothing is written when these are kept. False: the chip did not take them,
// and the old ones still count.
bool store_write(const float values[PARAMETER_COUNT]);
// The module has refused what was read: it counts as withheld until values are stored.
void store_withhold(void);
// Of the values that are taken; 0: none.
uint32_t store_generation(void);
// ORIGIN_*, of the values that are taken.
uint32_t store_origin(void);

#endif
