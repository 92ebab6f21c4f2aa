#include "update.h"

#include "board.gen.h"
#include "chip.h"
#include "frame.h"
#include "slots.h"

enum { IDLE, ERASING, PROGRAMMING, MARKING };

void update_start(Update *update, uint8_t *body, uint32_t boots, uint32_t generation) {
  *update = (Update){.body = body, .boots = boots, .boots_generation = boots == NO_SLOT ? 0 : generation};
}

static bool sameHead(const wire_image_head *left, const wire_image_head *right) {
  return __builtin_memcmp(left, right, sizeof *left) == 0;
}

uint32_t update_begin(Update *update, const wire_image_head *head, bool key_on) {
  if (key_on) return STATUS_KEY;
  uint32_t status = head_status(head);
  if (status != STATUS_DONE) return status;
  if (head->generation != 0) return STATUS_RANGE;
  if (update->begun && !update->failed && !update->done && sameHead(&update->head, head)) return STATUS_DONE;
  // The chip is still busy with the previous update.
  if (chip_busy()) return STATUS_BUSY;
  update_start(update, update->body, update->boots, update->boots_generation);
  update->slot = update->boots == 0 ? 1u : 0u;
  update->generation = update->boots_generation + 1u;
  update->head = *head;
  update->begun = true;
  return STATUS_DONE;
}

uint32_t update_write(Update *update, uint32_t offset, const uint8_t *bytes, uint32_t length) {
  if (!update->begun) return STATUS_NOT_BEGUN;
  if (update->failed) return STATUS_FLASH;
  if (offset > update->received) return STATUS_PLACE;
  if (length > update->head.length - offset) return STATUS_TOO_LONG;
  uint32_t known = update->received - offset;
  for (uint32_t i = known; i < length; i++) update->body[offset + i] = bytes[i];
  if (length > known) update->received = offset + length;
  return STATUS_DONE;
}

uint32_t update_finish(Update *update, bool key_on) {
  if (!update->begun) return STATUS_NOT_BEGUN;
  if (update->done) return STATUS_DONE;
  if (key_on) return STATUS_KEY;
  if (update->failed) return STATUS_FLASH;
  if (update->finishing) return STATUS_BUSY;
  if (update->received < update->head.length) return STATUS_INCOMPLETE;
  if (crc32(0, update->body, update->head.length) != update->head.body_crc) {
    // The next attempt must send everything again.
    update->begun = false;
    return STATUS_CHECKSUM;
  }
  update->finishing = true;
  return STATUS_BUSY;
}

wire_update_state update_state(const Update *update) {
  return (wire_update_state){
      .slot = (uint8_t)update->slot,
      .received = update->received,
      .written = update->written,
      .generation = update->generation,
  };
}

// True when the chip holds these bytes.
static bool holds(uint32_t at, const void *bytes, uint32_t length) {
  _Alignas(4) uint8_t page[PAGE_BYTES];
  chip_read(at, page, length);
  return __builtin_memcmp(page, bytes, length) == 0;
}

static uint32_t pageLength(const Update *update) {
  uint32_t left = update->head.length - update->written;
  return left < PAGE_BYTES ? left : PAGE_BYTES;
}

static uint32_t pageAt(const Update *update) { return slot_at(update->slot) + PAGE_BYTES + update->written; }

// Accounts for the operation that the chip has finished.
static void account(Update *update) {
  uint32_t operation = update->operation;
  update->operation = IDLE;
  if (operation == ERASING) {
    update->erased++;
  } else if (operation == PROGRAMMING) {
    uint32_t length = pageLength(update);
    if (holds(pageAt(update), update->body + update->written, length)) update->written += length;
    else update->failed = true;
  } else if (operation == MARKING) {
    update->done = holds(slot_at(update->slot), &update->head, sizeof update->head);
    update->failed = !update->done;
    if (update->failed) return;
    update->boots = update->slot;
    update->boots_generation = update->generation;
  }
}

static void mark(Update *update) {
  if (slot_body_crc(update->slot, update->head.length) != update->head.body_crc) {
    update->failed = true;
    return;
  }
  wire_image_head *head = &update->head;
  head->generation = update->generation;
  head->head_crc = crc32(0, head, __builtin_offsetof(wire_image_head, head_crc));
  update->operation = MARKING;
  chip_program_begin(slot_at(update->slot), (const uint8_t *)head, sizeof *head);
}

void update_work(Update *update) {
  if (chip_busy() || !update->begun || update->failed || update->done) return;
  account(update);
  if (update->failed || update->done) return;
  uint32_t sectors = (PAGE_BYTES + update->head.length + SECTOR_BYTES - 1u) / SECTOR_BYTES;
  bool page_left = update->written < update->head.length;
  bool page_has_come = page_left && update->written + pageLength(update) <= update->received;
  uint32_t page_sector = (PAGE_BYTES + update->written) / SECTOR_BYTES;
  if (page_has_come && page_sector < update->erased) {
    update->operation = PROGRAMMING;
    chip_program_begin(pageAt(update), update->body + update->written, pageLength(update));
  } else if (update->erased < sectors) {
    update->operation = ERASING;
    chip_erase_begin(slot_at(update->slot) + update->erased * SECTOR_BYTES);
  } else if (update->finishing && !page_left) {
    mark(update);
  }
}

bool update_working(const Update *update) { return update->begun && update->operation != IDLE; }
