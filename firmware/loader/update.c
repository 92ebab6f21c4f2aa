#include "update.h"

#include "board.gen.h"
#include "chip.h"
#include "frame.h"
#include "slots.h"

enum { IDLE, ERASING, PROGRAMMING, MARKING };

void update_start(Update *update, uint8_t *body, uint32_t boots, const wire_image_head *in_force, uint32_t highest) {
  wire_image_head head = boots == NO_SLOT ? (wire_image_head){0} : *in_force;
  *update = (Update){.body = body, .boots = boots, .keeps = NO_SLOT, .in_force = head, .highest = highest};
}

void update_keep(Update *update, uint32_t slot) { update->keeps = slot; }

static bool sameHead(const wire_image_head *left, const wire_image_head *right) {
  return __builtin_memcmp(left, right, sizeof *left) == 0;
}

static uint32_t headCrc(const wire_image_head *head) {
  return crc32(0, head, __builtin_offsetof(wire_image_head, head_crc));
}

// The head of the image that boots, as its file had it.
static wire_image_head asInFile(const wire_image_head *in_force) {
  wire_image_head head = *in_force;
  head.generation = 0;
  head.head_crc = headCrc(&head);
  return head;
}

uint32_t update_begin(Update *update, const wire_image_head *head, bool key_on) {
  if (key_on) return STATUS_KEY;
  uint32_t status = slot_head_status(head);
  if (status != STATUS_DONE) return status;
  if (head->generation != 0) return STATUS_RANGE;
  if (update->begun && !update->failed && !update->done && sameHead(&update->head, head)) return STATUS_DONE;
  // The chip is still busy with the previous update.
  if (chip_busy()) return STATUS_BUSY;
  wire_image_head in_force = update->in_force;
  uint32_t keeps = update->keeps;
  update_start(update, update->body, update->boots, &in_force, update->highest);
  update->keeps = keeps;
  update->begun = true;
  update->head = *head;
  wire_image_head there = asInFile(&in_force);
  if (update->boots != NO_SLOT && sameHead(&there, head)) {
    update->head = in_force;
    update->slot = update->boots;
    update->generation = in_force.generation;
    update->received = update->written = head->length;
    update->done = update->written_before = true;
    return STATUS_DONE;
  }
  update->slot = (keeps == NO_SLOT ? update->boots : keeps) == 0 ? 1u : 0u;
  update->generation = update->highest + 1u;
  sha256_begin(&update->sha);
  return STATUS_DONE;
}

uint32_t update_write(Update *update, uint32_t offset, const uint8_t *bytes, uint32_t length) {
  if (!update->begun) return STATUS_NOT_BEGUN;
  if (update->failed) return update->failed;
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
  if (update->failed) return update->failed;
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

// What the chip holds there, in a buffer that the next call overwrites.
static const uint8_t *held(uint32_t at, uint32_t length) {
  static _Alignas(4) uint8_t page[PAGE_BYTES];
  chip_read(at, page, length);
  return page;
}

static uint32_t pageLength(const Update *update) {
  uint32_t left = update->head.length - update->written;
  return left < PAGE_BYTES ? left : PAGE_BYTES;
}

static uint32_t pageAt(const Update *update) { return slot_at(update->slot) + PAGE_BYTES + update->written; }

// A page counts once it was read back right; what was read is what the SHA-256 is of.
static void accountPage(Update *update) {
  uint32_t length = pageLength(update);
  const uint8_t *there = held(pageAt(update), length);
  if (__builtin_memcmp(there, update->body + update->written, length) != 0) {
    update->failed = STATUS_FLASH;
    return;
  }
  sha256_add(&update->sha, there, length);
  update->written += length;
}

static void accountMark(Update *update) {
  const uint8_t *there = held(slot_at(update->slot), sizeof update->head);
  update->done = __builtin_memcmp(there, &update->head, sizeof update->head) == 0;
  if (!update->done) {
    update->failed = STATUS_FLASH;
    return;
  }
  update->boots = update->slot;
  update->in_force = update->head;
  update->highest = update->generation;
}

// Accounts for the operation that the chip has finished.
static void account(Update *update) {
  uint32_t operation = update->operation;
  update->operation = IDLE;
  if (operation == PROGRAMMING) accountPage(update);
  else if (operation == MARKING) accountMark(update);
}

static void mark(Update *update) {
  uint8_t digest[SHA256_BYTES];
  sha256_end(&update->sha, digest);
  wire_image_head *head = &update->head;
  if (__builtin_memcmp(digest, head->image_sha256, sizeof digest) != 0) {
    update->failed = STATUS_HASH;
    return;
  }
  head->generation = update->generation;
  head->head_crc = headCrc(head);
  update->operation = MARKING;
  chip_program_begin(slot_at(update->slot), (const uint8_t *)head, sizeof *head);
}

// The largest erase that the chip has takes the slot but for its last sector, in a fifth of the time.
static void erase(Update *update) {
  uint32_t bytes = update->erased == 0 ? BLOCK_BYTES : SECTOR_BYTES;
  update->operation = ERASING;
  chip_erase_begin(slot_at(update->slot) + update->erased, bytes);
  update->erased += bytes;
}

void update_work(Update *update) {
  if (chip_busy() || !update->begun || update->failed || update->done) return;
  account(update);
  if (update->failed || update->done) return;
  bool page_left = update->written < update->head.length;
  uint32_t page_end = update->written + pageLength(update);
  bool page_has_come = page_left && page_end <= update->received;
  if (page_has_come && PAGE_BYTES + page_end <= update->erased) {
    update->operation = PROGRAMMING;
    chip_program_begin(pageAt(update), update->body + update->written, pageLength(update));
  } else if (update->erased < PAGE_BYTES + update->head.length) {
    erase(update);
  } else if (update->finishing && !page_left) {
    mark(update);
  }
}

bool update_working(const Update *update) { return update->begun && update->operation != IDLE; }
