#include "slot.h"

#include "board.gen.h"
#include "frame.h"
#include "sha256.h"

#define NO_MARK 0xffffffffu

uint32_t slot_at(uint32_t slot) { return slot == 0 ? SLOT_0_AT : SLOT_1_AT; }

uint32_t slot_head_status(const wire_image_head *head) {
  if (head->magic != IMAGE_MAGIC) return STATUS_FORMAT;
  if (head->head_crc != crc32(0, head, __builtin_offsetof(wire_image_head, head_crc))) return STATUS_CHECKSUM;
  if (head->format != IMAGE_FORMAT) return STATUS_FORMAT;
  if (head->board != BOARD_KIND) return STATUS_BOARD;
  if (head->length > BODY_MOST) return STATUS_TOO_LONG;
  if (head->length == 0 || head->length % 4u != 0) return STATUS_RANGE;
  if (head->entry != BODY_RAM_AT) return STATUS_FORMAT;
  return STATUS_DONE;
}

bool slot_head(uint32_t slot, wire_image_head *head) {
  slot_flash_read(slot_at(slot), head, sizeof *head);
  return slot_head_status(head) == STATUS_DONE;
}

bool slot_given_up(uint32_t slot) {
  uint32_t mark;
  slot_flash_read(slot_at(slot) + SLOT_MARK_AT, &mark, sizeof mark);
  return mark != NO_MARK;
}

static void bodySha256(uint32_t slot, uint32_t length, uint8_t *body, uint8_t digest[SHA256_BYTES]) {
  _Alignas(4) uint8_t buffer[PAGE_BYTES];
  Sha256 sha;
  sha256_begin(&sha);
  for (uint32_t at = 0; at < length; at += PAGE_BYTES) {
    uint32_t here = length - at < PAGE_BYTES ? length - at : PAGE_BYTES;
    uint8_t *page = body == 0 ? buffer : body + at;
    slot_flash_read(slot_at(slot) + PAGE_BYTES + at, page, here);
    sha256_add(&sha, page, here);
  }
  sha256_end(&sha, digest);
}

bool slot_body_right(uint32_t slot, const wire_image_head *head, uint8_t *body) {
  uint8_t digest[SHA256_BYTES];
  bodySha256(slot, head->length, body, digest);
  return __builtin_memcmp(digest, head->image_sha256, sizeof digest) == 0;
}

wire_slot slot_look(uint32_t slot) {
  wire_slot found = {.slot = (uint8_t)slot, .holds = SLOT_EMPTY};
  wire_image_head head;
  if (!slot_head(slot, &head)) return found;
  bodySha256(slot, head.length, 0, found.body_sha256);
  bool right = __builtin_memcmp(found.body_sha256, head.image_sha256, sizeof head.image_sha256) == 0;
  found.holds = !right ? SLOT_DAMAGED : slot_given_up(slot) ? SLOT_FAILED : SLOT_VALID;
  found.generation = head.generation;
  __builtin_memcpy(found.version, head.version, sizeof found.version);
  __builtin_memcpy(found.module_sha256, head.module_sha256, sizeof found.module_sha256);
  __builtin_memcpy(found.image_sha256, head.image_sha256, sizeof found.image_sha256);
  return found;
}
