// The parameter store on the desk: the power fails before, within or after every flash operation of a commit, in many
// sequences of commits. After each, the store is read as at a start: it must hold what the last whole commit or the one
// that was cut wanted, all of it. With a second image in the other slot, what that one last ran with stays, whatever the first
// one keeps. Prints how many cuts there were and at which operations.
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "frame.h"
#include "host.h"
#include "image.h"
#include "store.h"

#define SEQUENCES 400
#define COMMITS 12

static uint8_t chip[FLASH_BYTES];
static jmp_buf dark;
static uint32_t random_state = 1;

void host_sleep(void) {}
void host_restart(uint32_t cause) { exit((int)cause); }
void host_power_cut(void) { longjmp(dark, 1); }
uint32_t host_cycles(void) { return 0; }

static uint32_t random32(void) {
  random_state ^= random_state << 13;
  random_state ^= random_state >> 17;
  return random_state ^= random_state << 5;
}

// Every value tells which commit it belongs to.
static void wanted(float values[PARAMETER_COUNT], uint32_t commit) {
  for (uint32_t id = 0; id < PARAMETER_COUNT; id++) values[id] = (float)(commit * 128u + id);
}

// Which commit stands in the store; 0: none. Ends the program when it is a mixture.
static uint32_t standing(void) {
  float values[PARAMETER_COUNT];
  memset(values, 0, sizeof values);
  uint32_t generation = store_read(values);
  if (generation == 0) return 0;
  uint32_t commit = (uint32_t)values[0] / 128u;
  float expected[PARAMETER_COUNT];
  wanted(expected, commit);
  if (memcmp(values, expected, sizeof values) == 0) return commit;
  printf("mixed parameters, generation %u\n", generation);
  exit(1);
}

static uint32_t cuts[3][3], total, old, changed;

// One commit, cut or not, on what is kept. Returns which commit is kept then.
static uint32_t commitOnce(uint32_t commit, uint32_t kept) {
  float values[PARAMETER_COUNT];
  wanted(values, commit);
  uint32_t operation = random32() % 4u; // one of the three, or none
  host.flash_operations = 0;
  host.cut_at = operation < 3u ? operation : UINT32_MAX;
  host.cut_moment = (HostCut)(random32() % 3u);
  host.seed = random32();
  if (setjmp(dark) == 0) {
    bool written = store_write(values);
    if (!written || host.cut_at != UINT32_MAX || standing() != commit) exit(2);
    return commit;
  }
  cuts[host.cut_at][host.cut_moment]++;
  total++;
  uint32_t now = standing();
  if (now == kept) old++;
  else if (now == commit) changed++;
  else {
    printf("commit %u stands, %u was kept and %u was cut\n", now, kept, commit);
    exit(3);
  }
  return now;
}

// An image of this generation in a slot: its head alone.
static void placeHead(uint32_t slot, uint32_t image_generation) {
  wire_image_head head = {.magic = IMAGE_MAGIC, .format = IMAGE_FORMAT, .board = BOARD_KIND, .length = 64, .entry = BODY_RAM_AT};
  head.generation = image_generation;
  memset(head.image_sha256, (int)image_generation, sizeof head.image_sha256);
  head.head_crc = crc32(0, &head, __builtin_offsetof(wire_image_head, head_crc));
  memcpy(chip + slot_at(slot), &head, sizeof head);
}

static void start(uint32_t slot) {
  host.boot_slot = slot;
  image_read_head();
}

// An older image has kept one set; a newer one takes it over, and commits again and again. Whenever the box goes back, the older
// one finds its own.
static void twoImages(void) {
  memset(chip, 0xff, sizeof chip);
  placeHead(1, 5);
  start(1);
  uint32_t own = commitOnce(1, standing());
  while (own != 1) own = commitOnce(1, own);
  placeHead(0, 6);
  start(0);
  uint32_t kept = standing();
  if (kept != 1 || store_origin() != ORIGIN_OLDER) exit(6);
  for (uint32_t commit = 2; commit <= 60; commit++) {
    kept = commitOnce(commit, kept);
    start(1);
    if (standing() != 1 || store_origin() != ORIGIN_OWN) exit(7);
    start(0);
    if (standing() != kept) exit(8);
  }
  // Without its own, it takes none of the newer one's.
  memset(chip, 0xff, KEPT_AT + 3u * SECTOR_BYTES);
  kept = standing();
  while (kept != 3) kept = commitOnce(3, kept);
  start(1);
  if (standing() != 0 || store_origin() != ORIGIN_WITHHELD) exit(9);
  host.boot_slot = 0;
}

int main(void) {
  host.flash = chip;
  for (uint32_t sequence = 0; sequence < SEQUENCES; sequence++) {
    // The chip as it comes, or with anything at all in the sectors of the store.
    memset(chip, 0xff, sizeof chip);
    if (sequence % 4 == 3) {
      for (uint32_t at = KEPT_AT; at < KEPT_AT + 3u * SECTOR_BYTES; at++) chip[at] = (uint8_t)random32();
    }
    uint32_t kept = standing();
    for (uint32_t commit = 1; commit <= COMMITS; commit++) kept = commitOnce(commit, kept);
  }
  for (uint32_t round = 0; round < 40; round++) twoImages();
  for (uint32_t operation = 0; operation < 3; operation++) {
    for (uint32_t moment = 0; moment < 3; moment++) {
      if (cuts[operation][moment] == 0) return 5;
    }
  }
  printf("%u cuts, %u old, %u new\n", total, old, changed);
  return 0;
}
