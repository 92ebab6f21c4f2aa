#include "store.h"

#include "frame.h"
#include "image.h"

#define COPIES 3u
#define NO_COPY COPIES
#define ERASED 0xffffffffu
#define HEAD_BYTES ((uint32_t)sizeof(wire_kept_head))
// With KEPT_MAGIC_1 the values begin here.
#define FIRST_HEAD_BYTES ((uint32_t)__builtin_offsetof(wire_kept_head, image_generation))
#define VALUES_MOST ((SECTOR_BYTES - HEAD_BYTES) / sizeof(float))
#define WRITTEN_BYTES (HEAD_BYTES + PARAMETER_COUNT * sizeof(float))
_Static_assert(WRITTEN_BYTES > PAGE_BYTES && WRITTEN_BYTES <= 2u * PAGE_BYTES, "the pages are written by hand below");
_Static_assert(PARAMETER_COUNT <= VALUES_MOST, "a copy is longer than its sector");

typedef struct {
  wire_kept_head head;
  float values[PARAMETER_COUNT];
} KeptCopy;

static uint32_t newest = NO_COPY, generation, origin;

static uint32_t copyAt(uint32_t copy) { return KEPT_AT + copy * SECTOR_BYTES; }

static uint32_t headBytes(const wire_kept_head *head) { return head->magic == KEPT_MAGIC ? HEAD_BYTES : FIRST_HEAD_BYTES; }

// Over what stands before the checksum, and behind it.
static uint32_t crcOf(const wire_kept_head *head, const void *behind, uint32_t bytes) {
  return crc32(crc32(0, head, __builtin_offsetof(wire_kept_head, crc)), behind, bytes);
}

// True when this copy is whole. A head that does not say which image kept it gets zeros there: it is older than any.
static bool valid(uint32_t copy, wire_kept_head *head) {
  port_flash_read(copyAt(copy), head, sizeof *head);
  bool known = head->magic == KEPT_MAGIC || head->magic == KEPT_MAGIC_1;
  if (!known || head->generation == 0 || head->count > VALUES_MOST) return false;
  uint32_t crc = crcOf(head, 0, 0);
  uint32_t at = FIRST_HEAD_BYTES;
  uint32_t end = headBytes(head) + head->count * (uint32_t)sizeof(float);
  while (at < end) {
    uint8_t piece[64];
    uint32_t here = end - at < sizeof piece ? end - at : (uint32_t)sizeof piece;
    port_flash_read(copyAt(copy) + at, piece, here);
    crc = crc32(crc, piece, here);
    at += here;
  }
  if (head->magic == KEPT_MAGIC_1) {
    head->image_generation = 0;
    __builtin_memset(head->image_sha256, 0, sizeof head->image_sha256);
  }
  return crc == head->crc;
}

static bool keptBy(const wire_kept_head *kept, const wire_image_head *image) {
  return __builtin_memcmp(kept->image_sha256, image->image_sha256, sizeof kept->image_sha256) == 0;
}

// What another image kept is taken over from an older one only. Files for the boot drive are all of the same age.
static bool takes(const wire_image_head *image, const wire_kept_head *kept) {
  return keptBy(kept, image) || (kept->image_generation < image->generation && kept->count <= PARAMETER_COUNT);
}

// The copy that this image takes, with its head; NO_COPY: none.
static uint32_t takenBy(const wire_image_head *image, wire_kept_head *taken) {
  uint32_t found = NO_COPY;
  for (uint32_t copy = 0; copy < COPIES; copy++) {
    wire_kept_head head;
    if (!valid(copy, &head) || !takes(image, &head)) continue;
    if (found != NO_COPY && head.generation <= taken->generation) continue;
    found = copy;
    *taken = head;
  }
  return found;
}

// Also one that is damaged: then somebody has once set what the box is to run with.
static bool anyKept(void) {
  for (uint32_t copy = 0; copy < COPIES; copy++) {
    uint32_t magic;
    port_flash_read(copyAt(copy), &magic, sizeof magic);
    if (magic != ERASED) return true;
  }
  return false;
}

uint32_t store_read(float values[PARAMETER_COUNT]) {
  wire_kept_head head;
  newest = takenBy(image_head(), &head);
  generation = newest == NO_COPY ? 0 : head.generation;
  if (newest == NO_COPY) {
    origin = anyKept() ? ORIGIN_WITHHELD : ORIGIN_DEFAULTS;
    return 0;
  }
  origin = keptBy(&head, image_head()) ? ORIGIN_OWN : ORIGIN_OLDER;
  uint32_t count = head.count < PARAMETER_COUNT ? head.count : PARAMETER_COUNT;
  port_flash_read(copyAt(newest) + headBytes(&head), values, count * sizeof(float));
  return generation;
}

// The page with the head is written last; the CRC covers head and values.
static bool write(uint32_t at, const KeptCopy *wanted) {
  const uint8_t *bytes = (const uint8_t *)wanted;
  size_t rest = WRITTEN_BYTES - PAGE_BYTES;
  return port_flash_erase(at) && port_flash_program(at + PAGE_BYTES, bytes + PAGE_BYTES, rest) &&
         port_flash_program(at, bytes, PAGE_BYTES);
}

// The copy that nobody takes, the oldest of them; the highest generation of all goes to *highest.
static uint32_t toOverwrite(uint32_t *highest) {
  wire_image_head other;
  wire_kept_head head;
  uint32_t of_other = image_other(&other) ? takenBy(&other, &head) : NO_COPY;
  uint32_t found = NO_COPY, least = 0;
  *highest = 0;
  for (uint32_t copy = 0; copy < COPIES; copy++) {
    uint32_t its = valid(copy, &head) ? head.generation : 0;
    if (its > *highest) *highest = its;
    if (copy == newest || copy == of_other) continue;
    if (found != NO_COPY && its >= least) continue;
    found = copy;
    least = its;
  }
  return found;
}

// True when all of these values are what a start would read.
static bool isKept(const float values[PARAMETER_COUNT]) {
  wire_kept_head head;
  if (newest == NO_COPY || !valid(newest, &head) || head.count != PARAMETER_COUNT) return false;
  float kept[PARAMETER_COUNT];
  port_flash_read(copyAt(newest) + headBytes(&head), kept, sizeof kept);
  return __builtin_memcmp(kept, values, sizeof kept) == 0;
}

bool store_write(const float values[PARAMETER_COUNT]) {
  if (isKept(values)) return true;
  uint32_t highest;
  uint32_t copy = toOverwrite(&highest);
  const wire_image_head *image = image_head();
  KeptCopy wanted = {.head = {.magic = KEPT_MAGIC, .generation = highest + 1u, .count = PARAMETER_COUNT}};
  wanted.head.image_generation = image->generation;
  __builtin_memcpy(wanted.head.image_sha256, image->image_sha256, sizeof wanted.head.image_sha256);
  __builtin_memcpy(wanted.values, values, sizeof wanted.values);
  wanted.head.crc = crcOf(&wanted.head, &wanted.head.image_generation, WRITTEN_BYTES - FIRST_HEAD_BYTES);
  wire_kept_head head;
  if (!write(copyAt(copy), &wanted) || !valid(copy, &head) || head.crc != wanted.head.crc) return false;
  newest = copy;
  generation = wanted.head.generation;
  origin = ORIGIN_OWN;
  return true;
}

void store_withhold(void) { origin = ORIGIN_WITHHELD; }
uint32_t store_generation(void) { return generation; }
uint32_t store_origin(void) { return origin; }
