// Two places for an image in flash. The first page of a slot is its head; a slot is valid when head and body match their
// checksums, and of two valid ones the one with the higher generation boots.
#ifndef STANDOFF_SLOTS_H
#define STANDOFF_SLOTS_H
#include <stdbool.h>
#include <stdint.h>

#include "wire.gen.h"

#define SLOTS 2u
#define NO_SLOT 255u

// Address of the slot in the chip.
uint32_t slot_at(uint32_t slot);
// STATUS_DONE when an image with this head fits a slot of this board, else why not.
uint32_t head_status(const wire_image_head *head);
// Reads the slot's head; true when head and body are whole.
bool slot_read(uint32_t slot, wire_image_head *head);
// The slot that boots, and its head; NO_SLOT when there is none.
uint32_t slots_newest(wire_image_head *head);
// CRC-32 of the body in the slot.
uint32_t slot_body_crc(uint32_t slot, uint32_t length);

#endif
