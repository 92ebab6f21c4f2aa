#include "sha256.h"

#define BLOCK 64u
#define LENGTH_AT 56u

static const uint32_t FIRST[8] = {
    0x6a09e667u, 0xbb67ae85u, 0x3c6ef372u, 0xa54ff53au, 0x510e527fu, 0x9b05688cu, 0x1f83d9abu, 0x5be0cd19u,
};
static const uint32_t ROUND[64] = {
    0x428a2f98u, 0x71374491u, 0xb5c0fbcfu, 0xe9b5dba5u, 0x3956c25bu, 0x59f111f1u, 0x923f82a4u, 0xab1c5ed5u,
    0xd807aa98u, 0x12835b01u, 0x243185beu, 0x550c7dc3u, 0x72be5d74u, 0x80deb1feu, 0x9bdc06a7u, 0xc19bf174u,
    0xe49b69c1u, 0xefbe4786u, 0x0fc19dc6u, 0x240ca1ccu, 0x2de92c6fu, 0x4a7484aau, 0x5cb0a9dcu, 0x76f988dau,
    0x983e5152u, 0xa831c66du, 0xb00327c8u, 0xbf597fc7u, 0xc6e00bf3u, 0xd5a79147u, 0x06ca6351u, 0x14292967u,
    0x27b70a85u, 0x2e1b2138u, 0x4d2c6dfcu, 0x53380d13u, 0x650a7354u, 0x766a0abbu, 0x81c2c92eu, 0x92722c85u,
    0xa2bfe8a1u, 0xa81a664bu, 0xc24b8b70u, 0xc76c51a3u, 0xd192e819u, 0xd6990624u, 0xf40e3585u, 0x106aa070u,
    0x19a4c116u, 0x1e376c08u, 0x2748774cu, 0x34b0bcb5u, 0x391c0cb3u, 0x4ed8aa4au, 0x5b9cca4fu, 0x682e6ff3u,
    0x748f82eeu, 0x78a5636fu, 0x84c87814u, 0x8cc70208u, 0x90befffau, 0xa4506cebu, 0xbef9a3f7u, 0xc67178f2u,
};

static uint32_t turned(uint32_t word, uint32_t bits) { return word >> bits | word << (32u - bits); }

// Three rotations that add up, as fewest instructions: turned by a, a + b and a + b + c.
static uint32_t threeTurns(uint32_t word, uint32_t a, uint32_t b, uint32_t c) {
  return turned(turned(turned(word, c) ^ word, b) ^ word, a);
}

static void takeBlock(uint32_t state[8], const uint8_t *block) {
  uint32_t words[64];
  for (uint32_t i = 0; i < 16u; i++, block += 4) {
    words[i] = (uint32_t)block[0] << 24 | (uint32_t)block[1] << 16 | (uint32_t)block[2] << 8 | block[3];
  }
  for (uint32_t i = 16; i < 64u; i++) {
    uint32_t early = words[i - 15u], late = words[i - 2u];
    words[i] = words[i - 16u] + (turned(early, 7) ^ turned(early, 18) ^ early >> 3) + words[i - 7u] +
               (turned(late, 17) ^ turned(late, 19) ^ late >> 10);
  }
  uint32_t a = state[0], b = state[1], c = state[2], d = state[3];
  uint32_t e = state[4], f = state[5], g = state[6], h = state[7];
  for (uint32_t i = 0; i < 64u; i++) {
    uint32_t first = h + threeTurns(e, 6, 5, 14) + (g ^ (e & (f ^ g))) + ROUND[i] + words[i];
    uint32_t second = threeTurns(a, 2, 11, 9) + ((a & b) | (c & (a | b)));
    h = g, g = f, f = e, e = d + first;
    d = c, c = b, b = a, a = first + second;
  }
  state[0] += a, state[1] += b, state[2] += c, state[3] += d;
  state[4] += e, state[5] += f, state[6] += g, state[7] += h;
}

void sha256_begin(Sha256 *sha) {
  for (uint32_t i = 0; i < 8u; i++) sha->state[i] = FIRST[i];
  sha->length = 0;
}

void sha256_add(Sha256 *sha, const void *bytes, size_t length) {
  const uint8_t *byte = bytes;
  while (length >= BLOCK && sha->length % BLOCK == 0) {
    takeBlock(sha->state, byte);
    sha->length += BLOCK;
    byte += BLOCK;
    length -= BLOCK;
  }
  for (size_t i = 0; i < length; i++) {
    sha->block[sha->length++ % BLOCK] = byte[i];
    if (sha->length % BLOCK == 0) takeBlock(sha->state, sha->block);
  }
}

void sha256_end(Sha256 *sha, uint8_t digest[SHA256_BYTES]) {
  uint32_t bits = 8u * sha->length;
  const uint8_t one = 0x80, zero = 0;
  sha256_add(sha, &one, 1);
  while (sha->length % BLOCK != LENGTH_AT) sha256_add(sha, &zero, 1);
  // 64 bits, of which the upper half is 0.
  for (uint32_t i = 0; i < 8u; i++) {
    uint8_t byte = (uint8_t)(i < 4u ? 0u : bits >> 8u * (7u - i));
    sha256_add(sha, &byte, 1);
  }
  for (uint32_t i = 0; i < SHA256_BYTES; i++) digest[i] = (uint8_t)(sha->state[i / 4u] >> 8u * (3u - i % 4u));
}
