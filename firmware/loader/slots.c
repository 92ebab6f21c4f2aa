#include "slots.h"

#include "board.gen.h"
#include "chip.h"

void slot_flash_read(uint32_t at, void *bytes, size_t length) { chip_read(at, bytes, length); }

// The bodies are read from the newest on, and only until one is right: that takes most of the time.
uint32_t slots_newest(wire_image_head *head, uint8_t *body) {
  bool may[SLOTS];
  wire_image_head heads[SLOTS];
  for (uint32_t slot = 0; slot < SLOTS; slot++) may[slot] = slot_head(slot, &heads[slot]) && !slot_given_up(slot);
  for (uint32_t tries = 0; tries < SLOTS; tries++) {
    uint32_t newest = NO_SLOT;
    for (uint32_t slot = 0; slot < SLOTS; slot++) {
      if (may[slot] && (newest == NO_SLOT || heads[slot].generation > heads[newest].generation)) newest = slot;
    }
    if (newest == NO_SLOT) break;
    *head = heads[newest];
    if (slot_body_right(newest, head, body)) return newest;
    may[newest] = false;
  }
  *head = (wire_image_head){0};
  return NO_SLOT;
}

uint32_t slots_highest(void) {
  uint32_t highest = 0;
  for (uint32_t slot = 0; slot < SLOTS; slot++) {
    wire_image_head head;
    if (slot_head(slot, &head) && head.generation > highest) highest = head.generation;
  }
  return highest;
}

uint32_t slots_before(uint32_t slot) {
  wire_image_head head;
  uint32_t other = slot == 0 ? 1u : 0u;
  return slot_head(other, &head) && !slot_given_up(other) && slot_body_right(other, &head, 0) ? other : NO_SLOT;
}

bool slots_give_up(uint32_t slot) {
  const uint8_t mark[4] = {0};
  chip_program_begin(slot_at(slot) + SLOT_MARK_AT, mark, sizeof mark);
  while (chip_busy()) {
  }
  return slot_given_up(slot);
}
