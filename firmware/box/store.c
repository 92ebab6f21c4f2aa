#include "store.h"

#include "frame.h"

#define COPIES 2u
#define NO_COPY COPIES
#define VALUES_MOST ((SECTOR_BYTES - sizeof(wire_kept_head)) / sizeof(float))
#define WRITTEN_BYTES (sizeof(wire_kept_head) + PARAMETER_COUNT * sizeof(float))
_Static_assert(WRITTEN_BYTES <= 2u * PAGE_BYTES, "the pages are written by hand below");
_Static_assert(PARAMETER_COUNT <= VALUES_MOST, "a copy is longer than its sector");

typedef struct {
  wire_kept_head head;
  float values[PARAMETER_COUNT];
} KeptCopy;

static uint32_t newest = NO_COPY, generation;

static uint32_t copyAt(uint32_t copy) { return KEPT_AT + copy * SECTOR_BYTES; }

static uint32_t headCrc(const wire_kept_head *head) { return crc32(0, head, __builtin_offsetof(wire_kept_head, crc)); }

// True when this copy is whole.
static bool valid(uint32_t copy, wire_kept_head *head) {
  port_flash_read(copyAt(copy), head, sizeof *head);
  if (head->magic != KEPT_MAGIC || head->generation == 0 || head->count > VALUES_MOST) return false;
  uint32_t crc = headCrc(head);
  uint32_t at = copyAt(copy) + (uint32_t)sizeof *head;
  for (uint32_t left = head->count; left > 0;) {
    float piece[16];
    uint32_t count = left < 16u ? left : 16u;
    port_flash_read(at, piece, count * sizeof(float));
    crc = crc32(crc, piece, count * sizeof(float));
    at += count * (uint32_t)sizeof(float);
    left -= count;
  }
  return crc == head->crc;
}

uint32_t store_read(float values[PARAMETER_COUNT]) {
  newest = NO_COPY;
  generation = 0;
  uint32_t count = 0;
  for (uint32_t copy = 0; copy < COPIES; copy++) {
    wire_kept_head head;
    if (!valid(copy, &head) || head.generation <= generation) continue;
    newest = copy;
    generation = head.generation;
    count = head.count;
  }
  if (newest == NO_COPY) return 0;
  if (count > PARAMETER_COUNT) count = PARAMETER_COUNT;
  port_flash_read(copyAt(newest) + (uint32_t)sizeof(wire_kept_head), values, count * sizeof(float));
  return generation;
}

// The page with the head is written last; the CRC covers head and values.
static bool write(uint32_t at, const KeptCopy *wanted) {
  const uint8_t *bytes = (const uint8_t *)wanted;
  size_t rest = WRITTEN_BYTES - PAGE_BYTES;
  return port_flash_erase(at) && port_flash_program(at + PAGE_BYTES, bytes + PAGE_BYTES, rest) &&
         port_flash_program(at, bytes, PAGE_BYTES);
}

bool store_write(const float values[PARAMETER_COUNT]) {
  KeptCopy wanted = {.head = {.magic = KEPT_MAGIC, .generation = generation + 1u, .count = PARAMETER_COUNT}};
  __builtin_memcpy(wanted.values, values, sizeof wanted.values);
  wanted.head.crc = crc32(headCrc(&wanted.head), wanted.values, sizeof wanted.values);
  uint32_t copy = newest == 0 ? 1u : 0u;
  wire_kept_head head;
  if (!write(copyAt(copy), &wanted) || !valid(copy, &head) || head.crc != wanted.head.crc) return false;
  newest = copy;
  generation = wanted.head.generation;
  return true;
}

uint32_t store_generation(void) { return generation; }
