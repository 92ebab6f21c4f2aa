// Two places for an image in flash, as box and loader see them. The first page of a slot is its head; its last bytes, behind
// the head, say that the image was given up. A slot is valid when its head is whole and its body has the SHA-256 that the
// head names.
#ifndef STANDOFF_SLOT_H
#define STANDOFF_SLOT_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wire.gen.h"

#define SLOTS 2u
// Where a slot has its mark, counted from its start: all ones until the image is given up.
#define SLOT_MARK_AT 252u
_Static_assert(sizeof(wire_image_head) <= SLOT_MARK_AT, "the mark stands behind the head");

// Defined by whoever links this file: bytes of the flash chip, which is not busy.
void slot_flash_read(uint32_t at, void *bytes, size_t length);

// Address of the slot in the chip.
uint32_t slot_at(uint32_t slot);
// STATUS_DONE when an image with this head fits a slot of this board, else why not.
uint32_t slot_head_status(const wire_image_head *head);
// Reads the slot's head; true when it is whole. What the body is, it does not say.
bool slot_head(uint32_t slot, wire_image_head *head);
// The image of this slot failed, and is not started again.
bool slot_given_up(uint32_t slot);
// True when the body has the SHA-256 that this whole head names. With `body` (BODY_MOST bytes, aligned to 4) it stands there
// afterwards, and is what was hashed.
bool slot_body_right(uint32_t slot, const wire_image_head *head, uint8_t *body);
// What the slot holds, its body's SHA-256 computed; `runs`, `origin` and SLOT_TRIAL are left to the caller.
wire_slot slot_look(uint32_t slot);

#endif
