#include "slots.h"

#include "board.gen.h"
#include "chip.h"
#include "frame.h"

uint32_t slot_at(uint32_t slot) { return slot == 0 ? SLOT_0_AT : SLOT_1_AT; }

uint32_t head_status(const wire_image_head *head) {
  if (head->magic != IMAGE_MAGIC) return STATUS_FORMAT;
  if (head->head_crc != crc32(0, head, __builtin_offsetof(wire_image_head, head_crc))) return STATUS_CHECKSUM;
  if (head->format != IMAGE_FORMAT) return STATUS_FORMAT;
  if (head->board != BOARD_KIND) return STATUS_BOARD;
  if (head->length > BODY_MOST) return STATUS_TOO_LONG;
  if (head->length == 0 || head->length % 4u != 0) return STATUS_RANGE;
  if (head->entry != BODY_RAM_AT) return STATUS_FORMAT;
  return STATUS_DONE;
}

uint32_t slot_body_crc(uint32_t slot, uint32_t length) {
  _Alignas(4) uint8_t page[PAGE_BYTES];
  uint32_t crc = 0;
  for (uint32_t at = 0; at < length; at += PAGE_BYTES) {
    uint32_t here = length - at < PAGE_BYTES ? length - at : PAGE_BYTES;
    chip_read(slot_at(slot) + PAGE_BYTES + at, page, here);
    crc = crc32(crc, page, here);
  }
  return crc;
}

bool slot_read(uint32_t slot, wire_image_head *head) {
  chip_read(slot_at(slot), head, sizeof *head);
  return head_status(head) == STATUS_DONE && slot_body_crc(slot, head->length) == head->body_crc;
}

uint32_t slots_newest(wire_image_head *head) {
  uint32_t newest = NO_SLOT;
  for (uint32_t slot = 0; slot < SLOTS; slot++) {
    wire_image_head candidate;
    if (!slot_read(slot, &candidate)) continue;
    if (newest != NO_SLOT && candidate.generation <= head->generation) continue;
    newest = slot;
    *head = candidate;
  }
  return newest;
}
