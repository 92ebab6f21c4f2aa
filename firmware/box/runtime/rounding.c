// The two functions of the C library that the control module needs, in integers, so that they give the same bits as a
// processor with a floating-point unit: IEEE 754, round half to even. A test compares them with Math.sqrt and
// Math.fround over millions of values.
#include <stdint.h>

float sqrtf(float value);
float nearbyintf(float value);

#define SIGN 0x80000000u
#define INFINITE 0x7f800000u
#define FRACTION 0x007fffffu
#define HIDDEN 0x00800000u
#define BIAS 127

typedef union {
  float value;
  uint32_t bits;
} Single;

// Root of a positive number, digit by digit: 24 digits of the root and one more that decides the rounding. What is left
// of the radicand says whether more would follow; exactly half way cannot happen, as the square of a number with 25
// digits whose last is 1 has more digits than a radicand has.
static uint32_t positiveRoot(uint32_t bits) {
  int32_t exponent = (int32_t)(bits >> 23);
  uint32_t fraction = bits & FRACTION;
  if (exponent == 0) {
    // Subnormal: shifted until its first digit stands where that of other numbers does.
    int32_t shift = __builtin_clz(fraction) - 8;
    fraction <<= shift;
    exponent = 1 - shift;
  }
  exponent -= BIAS;
  uint32_t radicand = (fraction & FRACTION) | HIDDEN;
  // The exponent is made even; then the radicand has 24 or 25 digits and the root 24 of its own and one for rounding.
  if ((exponent & 1) != 0) radicand <<= 1;
  radicand <<= 1;
  // Twice the root so far: a digit of the root adds two of its own.
  uint32_t twice = 0;
#pragma GCC unroll 5
  for (uint32_t digit = 1u << 24; digit != 0; digit >>= 1) {
    uint32_t next = twice + digit;
    if (next <= radicand) {
      twice = next + digit;
      radicand -= next;
    }
    radicand <<= 1;
  }
  uint32_t root = twice >> 1;
  uint32_t rounded = (root >> 1) + (root & 1u);
  return rounded + ((uint32_t)((exponent >> 1) + BIAS - 1) << 23);
}

float sqrtf(float value) {
  Single number = {.value = value};
  if ((number.bits & ~SIGN) == 0) return value;
  if ((number.bits & ~SIGN) > INFINITE || number.bits == INFINITE) return value;
  if ((number.bits & SIGN) != 0) return __builtin_nanf("");
  number.bits = positiveRoot(number.bits);
  return number.value;
}

float nearbyintf(float value) {
  Single number = {.value = value};
  int32_t exponent = (int32_t)((number.bits >> 23) & 0xffu) - BIAS;
  // Whole already, infinite, or NaN.
  if (exponent >= 23) return value;
  if (exponent < 0) {
    // Below one: nothing, or one when above a half. Half itself goes to the even one, nothing.
    uint32_t one = (number.bits & ~SIGN) > 0x3f000000u ? 0x3f800000u : 0u;
    number.bits = (number.bits & SIGN) | one;
    return number.value;
  }
  uint32_t unit = 1u << (23 - exponent);
  // The digit of the units decides a half; for numbers from 1 to 2 it is the last digit of the exponent, which is 1 as
  // well. A carry out of the fraction raises the exponent, as it should.
  uint32_t odd = (number.bits & unit) != 0 ? 1u : 0u;
  number.bits += (unit >> 1) - 1u + odd;
  number.bits &= ~(unit - 1u);
  return number.value;
}
