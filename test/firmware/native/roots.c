// Square root and rounding over many numbers: hashes of their bits, for the desk to compare with its own.
#include "io.h"

float sqrtf(float value);
float nearbyintf(float value);

#define NUMBERS 2000000u
#define FNV_BASIS 0x811c9dc5u
#define FNV_PRIME 0x01000193u
#define NOT_NUMBER 0x7fc00000u

typedef union {
  float value;
  uint32_t bits;
} Single;

static uint32_t add(uint32_t hash, float value) {
  Single number = {.value = value};
  return (hash ^ (value == value ? number.bits : NOT_NUMBER)) * FNV_PRIME;
}

void io_main(void) {
  uint32_t roots = FNV_BASIS;
  uint32_t whole = FNV_BASIS;
  Single number = {.bits = 1};
  for (uint32_t i = 0; i < NUMBERS; i++) {
    number.bits ^= number.bits << 13;
    number.bits ^= number.bits >> 17;
    number.bits ^= number.bits << 5;
    Single given = number;
    // Every other one between 2^-4 and 2^28, where rounding has something to decide.
    if ((i & 1u) != 0) given.bits = (number.bits & 0x807fffffu) | ((123u + (number.bits >> 23) % 32u) << 23);
    roots = add(roots, sqrtf(given.value));
    whole = add(whole, nearbyintf(given.value));
  }
  io_hex(roots);
  io_hex(whole);
}
