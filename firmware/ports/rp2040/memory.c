// Functions that the compiler may call implicitly. Plain loops; -fno-builtin keeps them from calling themselves.
#include <stddef.h>
#include <stdint.h>

void *memcpy(void *restrict to, const void *restrict from, size_t length);
void *memmove(void *to, const void *from, size_t length);
void *memset(void *to, int value, size_t length);
int memcmp(const void *left, const void *right, size_t length);

static int aligned(const void *left, const void *right) {
  return (((uintptr_t)left | (uintptr_t)right) & 3u) == 0;
}

void *memcpy(void *restrict to, const void *restrict from, size_t length) {
  uint8_t *out = to;
  const uint8_t *in = from;
  size_t i = 0;
  if (aligned(to, from)) {
    for (; i + 4 <= length; i += 4) *(uint32_t *)(void *)(out + i) = *(const uint32_t *)(const void *)(in + i);
  }
  for (; i < length; i++) out[i] = in[i];
  return to;
}

void *memmove(void *to, const void *from, size_t length) {
  uint8_t *out = to;
  const uint8_t *in = from;
  if (out <= in) return memcpy(to, from, length);
  while (length-- > 0) out[length] = in[length];
  return to;
}

void *memset(void *to, int value, size_t length) {
  uint8_t *out = to;
  const uint32_t word = (uint8_t)value * 0x01010101u;
  size_t i = 0;
  if (aligned(to, 0)) {
    for (; i + 4 <= length; i += 4) *(uint32_t *)(void *)(out + i) = word;
  }
  for (; i < length; i++) out[i] = (uint8_t)value;
  return to;
}

int memcmp(const void *left, const void *right, size_t length) {
  const uint8_t *a = left;
  const uint8_t *b = right;
  for (size_t i = 0; i < length; i++) {
    if (a[i] != b[i]) return a[i] < b[i] ? -1 : 1;
  }
  return 0;
}
