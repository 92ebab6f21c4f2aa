// An update from one image to another, the way back from one that failed, and an update after that, with the power failing at
// every flash operation: before, within and after it. Whatever then boots must be the old or the new image, byte for byte.
// Prints what was tried and found, as JSON.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "chip-model.h"
#include "frame.h"
#include "sha256.h"
#include "slots.h"
#include "update.h"

typedef struct {
  wire_image_head head;
  uint8_t body[BODY_MOST];
} Image;

#define IMAGES 3
static Image images[IMAGES];
static uint8_t receive[BODY_MOST];
static uint8_t before[FLASH_BYTES];
static uint32_t tried, neither, both_wrong, boots_old, boots_new, finished_after;

static void makeImage(Image *image, uint32_t length, uint8_t tag) {
  for (uint32_t i = 0; i < length; i++) image->body[i] = (uint8_t)chip_random();
  image->head = (wire_image_head){.magic = IMAGE_MAGIC, .format = IMAGE_FORMAT, .board = BOARD_KIND, .length = length};
  image->head.entry = BODY_RAM_AT;
  image->head.version[0] = (char)tag;
  memset(image->head.unused, 0xff, sizeof image->head.unused);
  image->head.body_crc = crc32(0, image->body, length);
  Sha256 sha;
  sha256_begin(&sha);
  sha256_add(&sha, image->body, length);
  sha256_end(&sha, image->head.image_sha256);
  image->head.head_crc = crc32(0, &image->head, __builtin_offsetof(wire_image_head, head_crc));
}

// Which image boots, or -1 for none or for something that is neither.
static int boots(void) {
  wire_image_head head;
  uint32_t slot = slots_newest(&head, 0);
  for (int i = 0; slot != NO_SLOT && i < IMAGES; i++) {
    const uint8_t *body = chip_bytes + slot_at(slot) + PAGE_BYTES;
    if (head.length == images[i].head.length && memcmp(body, images[i].body, head.length) == 0) return i;
  }
  return -1;
}

static uint32_t generation(void) {
  wire_image_head head;
  return slots_newest(&head, 0) == NO_SLOT ? 0 : head.generation;
}

// A whole update in one session; pieces of uneven length, flash work in between. False: refused or not done.
static bool update(const Image *image) {
  static Update update_of_session;
  Update *session = &update_of_session;
  wire_image_head newest;
  chip_power_up();
  uint32_t slot = slots_newest(&newest, 0);
  update_start(session, receive, slot, &newest, slots_highest());
  if (update_begin(session, &image->head, false) != STATUS_DONE) return false;
  uint32_t sent = 0;
  while (sent < image->head.length) {
    uint32_t piece = 1u + chip_random() % 256u;
    if (piece > image->head.length - sent) piece = image->head.length - sent;
    if (update_write(session, sent, image->body + sent, piece) != STATUS_DONE) return false;
    sent += piece;
    for (uint32_t i = chip_random() % 4u; i != 0; i--) update_work(session);
  }
  uint32_t status = STATUS_BUSY;
  for (uint32_t i = 0; i < 100000u && status == STATUS_BUSY; i++) {
    status = update_finish(session, false);
    update_work(session);
  }
  return status == STATUS_DONE;
}

static void judge(int old, int new) {
  int which = boots();
  tried++;
  if (which < 0) neither++;
  else if (which == old) boots_old++;
  else if (which == new) boots_new++;
}

// Every operation of the update old → new, from the same flash each time.
static uint32_t sweep(int old, int new) {
  uint32_t operations;
  memcpy(before, chip_bytes, sizeof before);
  chip_cut_at = UINT32_MAX;
  if (!update(&images[new]) || boots() != new) both_wrong++;
  operations = chip_operations;
  static uint8_t after[FLASH_BYTES];
  memcpy(after, chip_bytes, sizeof after);
  for (volatile uint32_t cut = 0; cut < operations; cut++) {
    for (volatile int moment = CUT_BEFORE; moment <= CUT_AFTER; moment++) {
      memcpy(chip_bytes, before, sizeof before);
      chip_cut_at = cut;
      chip_cut_moment = (CutMoment)moment;
      if (setjmp(chip_dark) == 0) (void)update(&images[new]);
      chip_cut_at = UINT32_MAX;
      chip_power_up();
      judge(old, new);
      // From what the cut left, the update must be possible.
      if (update(&images[new]) && boots() == new) finished_after++;
    }
  }
  memcpy(chip_bytes, after, sizeof after);
  return operations;
}

// The image that boots failed: it is given up, with a cut at that operation. Whichever boots then, it can be given up, and the
// one before it boots. Leaves the chip so.
static void goBack(int failed, int before_it) {
  static uint8_t flash[FLASH_BYTES];
  memcpy(flash, chip_bytes, sizeof flash);
  for (volatile uint32_t round = 0; round < 60u; round++) {
    memcpy(chip_bytes, flash, sizeof flash);
    chip_power_up();
    wire_image_head head;
    volatile uint32_t slot = slots_newest(&head, 0);
    chip_cut_at = 0;
    chip_cut_moment = (CutMoment)(round % 3u);
    if (setjmp(chip_dark) == 0) (void)slots_give_up(slot);
    chip_cut_at = UINT32_MAX;
    chip_power_up();
    judge(before_it, failed);
    if (boots() == failed && !slots_give_up(slot)) both_wrong++;
    if (boots() == before_it) finished_after++;
  }
}

// One cut after another, each at a random operation of another attempt; the image that boots never gets lost.
static uint32_t storms(uint32_t count) {
  volatile uint32_t bad = 0;
  for (volatile uint32_t i = 0; i < count; i++) {
    volatile int old = boots();
    volatile int new = 1 - old;
    for (volatile uint32_t cuts = 1u + chip_random() % 4u; cuts != 0; cuts--) {
      chip_cut_at = chip_random() % 220u;
      chip_cut_moment = (CutMoment)(chip_random() % 3u);
      if (setjmp(chip_dark) == 0) (void)update(&images[new]);
      chip_cut_at = UINT32_MAX;
      chip_power_up();
      int which = boots();
      if (which != old && which != new) bad++;
      if (which == new) old = new, new = 1 - old;
    }
  }
  return bad;
}

int main(int count, char **arguments) {
  uint32_t length = count > 1 ? (uint32_t)strtoul(arguments[1], NULL, 10) : 40000u;
  chip_seed(count > 2 ? (uint32_t)strtoul(arguments[2], NULL, 10) : 1u);
  uint32_t storm = count > 3 ? (uint32_t)strtoul(arguments[3], NULL, 10) : 0u;
  makeImage(&images[0], length, 'A');
  makeImage(&images[1], length - 1024u, 'B');
  makeImage(&images[2], length - 512u, 'C');
  memset(chip_bytes, 0xff, sizeof chip_bytes);
  bool first = update(&images[0]) && boots() == 0 && generation() == 1;
  uint32_t there = sweep(0, 1);
  uint32_t back = sweep(1, 0);
  // Image 0 boots, image 1 stands before it. A third, given up after it was written, is never booted again.
  if (!update(&images[2]) || boots() != 2) both_wrong++;
  goBack(2, 0);
  uint32_t after_failure = sweep(0, 1);
  uint32_t generation_after = generation();
  uint32_t storm_bad = storms(storm);
  printf("{\"first\":%s,\"operations\":[%u,%u,%u],\"tried\":%u,\"old\":%u,\"new\":%u,\"neither\":%u,\"failed\":%u,"
         "\"finished_after\":%u,\"generation\":%u,\"storm_bad\":%u}\n",
         first ? "true" : "false", there, back, after_failure, tried, boots_old, boots_new, neither, both_wrong, finished_after,
         generation_after, storm_bad);
  return 0;
}
