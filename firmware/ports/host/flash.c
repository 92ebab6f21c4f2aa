// A model of the flash chip: erase sets bits, program clears them, both take time, and the power may fail before, within
// or after any operation.
#include <assert.h>
#include <string.h>

#include "host.h"

// Xorshift (Marsaglia, 2003).
static uint32_t random32(void) {
  uint32_t x = host.seed != 0 ? host.seed : 1u;
  x ^= x << 13;
  x ^= x >> 17;
  x ^= x << 5;
  return host.seed = x;
}

// A program cut short: some bytes are done, one is half done, the others untouched.
static void cutProgram(uint8_t *to, const uint8_t *bytes, size_t length) {
  size_t done = random32() % (uint32_t)length;
  for (size_t i = 0; i < done; i++) to[i] &= bytes[i];
  to[done] &= (uint8_t)(bytes[done] | random32());
}

// An erase cut short: the bits rise in no order.
static void cutErase(uint8_t *sector) {
  for (size_t i = 0; i < SECTOR_BYTES; i++) sector[i] |= (uint8_t)random32();
}

static void wait(uint32_t ms) {
  for (uint32_t i = 0; i < ms; i++) host_tick();
}

// True: this is the operation at which the power fails, and not before it begins.
static bool begin(void) {
  bool cut = host.flash_operations++ == host.cut_at;
  if (cut && host.cut_moment == CUT_BEFORE) host_power_cut();
  return cut;
}

bool port_flash_erase(uint32_t at) {
  assert(at % SECTOR_BYTES == 0 && at < FLASH_BYTES);
  bool cut = begin();
  if (cut && host.cut_moment == CUT_WITHIN) cutErase(host.flash + at);
  else if (!host.deaf) memset(host.flash + at, 0xff, SECTOR_BYTES);
  if (cut) host_power_cut();
  wait(HOST_ERASE_ms);
  return true;
}

bool port_flash_program(uint32_t at, const uint8_t *bytes, size_t length) {
  assert(length > 0 && at % PAGE_BYTES + length <= PAGE_BYTES && at + length <= FLASH_BYTES);
  bool cut = begin();
  if (cut && host.cut_moment == CUT_WITHIN) cutProgram(host.flash + at, bytes, length);
  else {
    for (size_t i = 0; i < length && !host.deaf; i++) host.flash[at + i] &= bytes[i];
  }
  if (cut) host_power_cut();
  wait(HOST_PROGRAM_ms);
  return true;
}

void port_flash_read(uint32_t at, void *bytes, size_t length) {
  assert(at <= FLASH_BYTES && length <= FLASH_BYTES - at);
  memcpy(bytes, host.flash + at, length);
}
