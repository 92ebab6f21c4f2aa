// Single precision of the box: the functions in front of libgcc's against libgcc's own, and the bits of square root and
// rounding for the desk to compare. Without a unit for floating point both run through the box's code.
#include "io.h"

#define PAIRS 500000u
#define SHOWN 20u
#define SIGN 0x80000000u
#define INFINITE_TWICE 0xff000000u

typedef uint32_t Bits;
#define BOTH(name)                                  \
  Bits __wrap___aeabi_##name(Bits left, Bits right); \
  Bits __real___aeabi_##name(Bits left, Bits right);
#define ALL(X) X(fadd) X(fsub) X(fmul) X(fdiv) X(fcmplt) X(fcmple) X(fcmpgt) X(fcmpge) X(fcmpeq)
ALL(BOTH)
Bits __wrap___aeabi_i2f(Bits whole);
Bits __real___aeabi_i2f(Bits whole);

static uint32_t differences;
static uint64_t state = 88172645463325252u;

// Xorshift (Marsaglia, 2003).
static uint64_t random64(void) {
  state ^= state << 13;
  state ^= state >> 7;
  return state ^= state << 17;
}

static bool notNumber(Bits bits) { return bits << 1 > INFINITE_TWICE; }

static void compare(const char *name, Bits left, Bits right, Bits own, Bits library) {
  if (own == library || (notNumber(own) && notNumber(library))) return;
  if (++differences > SHOWN) return;
  io_print(name);
  io_print("\n");
  io_hex(left);
  io_hex(right);
  io_hex(own);
  io_hex(library);
}

static void compareAll(Bits left, Bits right) {
#define COMPARE(name) compare(#name, left, right, __wrap___aeabi_##name(left, right), __real___aeabi_##name(left, right));
  ALL(COMPARE)
}

// A whole number of any length, either sign, often with few digits: a length of more than 24 must round.
static void compareWhole(Bits whole, uint32_t digits, bool few) {
  whole = whole >> digits % 32u;
  if (few) whole &= 0xffffff80u;
  compare("i2f", whole, 0, __wrap___aeabi_i2f(whole), __real___aeabi_i2f(whole));
  compare("i2f", -whole, 0, __wrap___aeabi_i2f(-whole), __real___aeabi_i2f(-whole));
}

// Pairs of all kinds: anything, of equal and of near exponents, about 1, with few digits, nearly equal, at the ends.
static void drawPair(Bits *left, Bits *right) {
  uint64_t both = random64();
  uint64_t more = random64();
  Bits a = (Bits)both;
  Bits b = (Bits)(both >> 32);
  uint32_t number = (uint32_t)(more >> 8);
  switch (more & 7u) {
    case 1: b = (b & 0x807fffffu) | (a & 0x7f800000u); break;
    case 2: b = (b & 0x807fffffu) | ((((a >> 23) + number % 56u - 28u) & 255u) << 23); break;
    case 3:
      a = (a & 0x807fffffu) | ((110u + number % 30u) << 23);
      b = (b & 0x807fffffu) | ((110u + (number >> 8) % 30u) << 23);
      break;
    case 4: a &= 0xff800fffu, b &= 0xfffff000u; break;
    case 5: b = a ^ (number >> 20); break;
    case 6: a = (a & 0x807fffffu) | ((number % 3u * 127u) << 23); break;
    case 7: a = (a & 0xff800000u) | (number & 15u), b = (b & 0xff800000u) | ((number & 16u) != 0 ? 0x7fffffu : 1u); break;
    default: break;
  }
  *left = a;
  *right = b;
}

static const Bits ENDS[] = {
    0,          1,          0x007fffff, 0x00800000, 0x00800001, 0x3effffff, 0x3f000000, 0x3f7fffff,
    0x3f800000, 0x3f800001, 0x4b000000, 0x4b800000, 0x7f7fffff, 0x7f800000, 0x7fc00000,
};
#define ENDS_COUNT (sizeof ENDS / sizeof *ENDS)

void io_main(void) {
  for (uint32_t i = 0; i < PAIRS; i++) {
    Bits left, right;
    drawPair(&left, &right);
    compareAll(left, right);
    compareWhole(left, right >> 8, (right & 1u) != 0);
  }
  for (uint32_t i = 0; i < 4u * ENDS_COUNT * ENDS_COUNT; i++) {
    uint32_t pair = i / 4u;
    compareAll(ENDS[pair % ENDS_COUNT] | ((i & 1u) != 0 ? SIGN : 0u), ENDS[pair / ENDS_COUNT] | ((i & 2u) != 0 ? SIGN : 0u));
  }
  io_print("differences\n");
  io_hex(differences);
  io_end(differences == 0);
}
