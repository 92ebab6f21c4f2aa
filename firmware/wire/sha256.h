// SHA-256 (FIPS 180-4), for the box and its loader.
#ifndef STANDOFF_SHA256_H
#define STANDOFF_SHA256_H
#include <stddef.h>
#include <stdint.h>

#define SHA256_BYTES 32u

typedef struct {
  uint32_t state[8];
  uint32_t length; // bytes so far
  uint8_t block[64];
} Sha256;

void sha256_begin(Sha256 *sha);
// In pieces of any length, below 512 MiB in all.
void sha256_add(Sha256 *sha, const void *bytes, size_t length);
void sha256_end(Sha256 *sha, uint8_t digest[SHA256_BYTES]);

#endif
