#include "chip-model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "chip.h"

uint8_t chip_bytes[FLASH_BYTES];
uint32_t chip_operations;
uint32_t chip_cut_at = UINT32_MAX;
CutMoment chip_cut_moment;
jmp_buf chip_dark;
bool chip_deaf;

static uint32_t busy_polls;
static uint32_t random_state = 1;

void chip_seed(uint32_t seed) { random_state = seed * 2654435761u | 1u; }

uint32_t chip_random(void) { // xorshift32 (Marsaglia)
  random_state ^= random_state << 13;
  random_state ^= random_state >> 17;
  random_state ^= random_state << 5;
  return random_state;
}

void chip_power_up(void) {
  chip_operations = 0;
  busy_polls = 0;
}

static void misuse(const char *what) {
  fprintf(stderr, "the chip was misused: %s\n", what);
  abort();
}

// Some of the bits have got where they were going, each by itself.
static uint8_t halfway(uint8_t from, uint8_t to) {
  uint8_t moved = (uint8_t)chip_random();
  return (uint8_t)((from & ~moved) | (to & moved));
}

static void apply(uint32_t at, const uint8_t *bytes, uint32_t length, bool whole) {
  if (chip_deaf) return;
  // A half-done operation is either ragged all over, or whole up to some byte.
  bool ragged = (chip_random() & 1u) != 0;
  uint32_t done = chip_random() % length;
  for (uint32_t i = 0; i < length; i++) {
    uint8_t from = chip_bytes[at + i];
    uint8_t to = bytes == NULL ? 0xff : (uint8_t)(from & bytes[i]);
    if (whole || (!ragged && i < done)) chip_bytes[at + i] = to;
    else if (ragged || i == done) chip_bytes[at + i] = halfway(from, to);
  }
}

static void operation(uint32_t at, const uint8_t *bytes, uint32_t length) {
  if (busy_polls != 0) misuse("a command while it is busy");
  bool cut = chip_operations++ == chip_cut_at;
  if (cut && chip_cut_moment == CUT_BEFORE) longjmp(chip_dark, 1);
  apply(at, bytes, length, !(cut && chip_cut_moment == CUT_WITHIN));
  if (cut) longjmp(chip_dark, 1);
  busy_polls = 1u + chip_random() % 3u;
}

void chip_erase_begin(uint32_t at, uint32_t bytes) {
  if (bytes != SECTOR_BYTES && bytes != BLOCK_BYTES) misuse("an erase of a size that it does not have");
  if (at % bytes != 0 || at + bytes > FLASH_BYTES) misuse("an erase off its sectors");
  if (at < SLOT_0_AT) misuse("an erase below the slots");
  operation(at, NULL, bytes);
}

void chip_program_begin(uint32_t at, const uint8_t *bytes, size_t length) {
  if (length == 0 || at % PAGE_BYTES + length > PAGE_BYTES) misuse("a program beyond a page");
  if (at < SLOT_0_AT) misuse("a program below the slots");
  operation(at, bytes, (uint32_t)length);
}

bool chip_busy(void) { return busy_polls != 0 && busy_polls-- != 0; }

void chip_read(uint32_t at, void *bytes, size_t length) {
  if (busy_polls != 0) misuse("a read while it is busy");
  if (at + length > FLASH_BYTES) misuse("a read beyond its end");
  memcpy(bytes, chip_bytes + at, length);
}
