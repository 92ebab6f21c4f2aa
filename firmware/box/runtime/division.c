// Quotient in single precision, see single.S: a quarter of libgcc's time, the same bits.
#include <stdbool.h>
#include <stdint.h>

#include "reciprocals.h"

#define SIGN 0x80000000u
#define HIDDEN 0x00800000u
#define BIAS 127u
#define EXPONENT_MOST 254u

// Numbers are handed over as their bits.
uint32_t __wrap___aeabi_fdiv(uint32_t a, uint32_t b);
uint32_t __real___aeabi_fdiv(uint32_t a, uint32_t b);

static inline uint32_t exponentOf(uint32_t bits) { return (bits << 1) >> 24; }
static inline uint32_t mantissaOf(uint32_t bits) { return ((bits << 8) | SIGN) >> 8; }
static inline bool ordinary(uint32_t exponent) { return exponent - 1u < EXPONENT_MOST; }
static inline bool isZero(uint32_t bits) { return bits << 1 == 0; }

// 24 digits, one that decides the rounding, and whether anything is behind it. A carry raises the exponent.
static inline uint32_t rounded(uint32_t sign, uint32_t exponent, uint32_t mantissa, uint32_t half, bool more) {
  mantissa += half & (uint32_t)(more | (mantissa & 1u));
  return sign + ((exponent - 1u) << 23) + mantissa;
}

uint32_t __wrap___aeabi_fdiv(uint32_t a, uint32_t b) {
  uint32_t sign = (a ^ b) & SIGN;
  uint32_t a_exponent = exponentOf(a);
  uint32_t b_exponent = exponentOf(b);
  if (!ordinary(a_exponent) || !ordinary(b_exponent)) {
    return isZero(a) && ordinary(b_exponent) ? sign : __real___aeabi_fdiv(a, b);
  }
  uint32_t left = mantissaOf(a);
  uint32_t divisor = mantissaOf(b);
  uint32_t exponent = a_exponent - b_exponent + BIAS;
  if (left < divisor) {
    left <<= 1;
    exponent--;
  }
  if (exponent - 1u >= EXPONENT_MOST - 1u) return __real___aeabi_fdiv(a, b);
  // 2^31 over the divisor's first 16 digits, from a table of 8 digits by one step of Newton; never above.
  uint32_t divisor_16 = (divisor >> 8) + 1u;
  uint32_t reciprocal = RECIPROCALS[(divisor >> 16) & 127u];
  int32_t error = (int32_t)(0x80000000u - reciprocal * divisor_16);
  reciprocal += (uint32_t)(((int32_t)reciprocal * (error >> 9)) >> 22);
  // 13 digits of the quotient, then 12 more from what is left; each is too small by 3 at most.
  uint32_t quotient = ((left >> 9) * reciprocal) >> 18;
  left = (left << 12) - quotient * divisor;
  uint32_t more = ((left >> 10) * reciprocal) >> 17;
  left = (left << 12) - more * divisor;
  quotient = (quotient << 12) + more;
  while (left >= divisor) {
    left -= divisor;
    quotient++;
  }
  return rounded(sign, exponent, quotient >> 1, quotient & 1u, left != 0);
}
