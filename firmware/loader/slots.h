// Which image boots: of the valid ones that were not given up, the one with the higher generation.
#ifndef STANDOFF_SLOTS_H
#define STANDOFF_SLOTS_H
#include <stdbool.h>
#include <stdint.h>

#include "slot.h"

#define NO_SLOT 255u

// The slot that boots, and its head; NO_SLOT and a head of zeros when there is none. Its body then stands in `body`, when that
// is given (BODY_MOST bytes, aligned to 4).
uint32_t slots_newest(wire_image_head *head, uint8_t *body);
// The highest generation that any whole head has, boots it or not; 0: none.
uint32_t slots_highest(void);
// Another slot than this one that would boot if this one were given up; NO_SLOT: none.
uint32_t slots_before(uint32_t slot);
// Marks the image of this slot as failed: one operation of the chip, waited for. False: the chip did not take it.
bool slots_give_up(uint32_t slot);

#endif
