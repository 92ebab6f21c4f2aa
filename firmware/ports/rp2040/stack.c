#include "stack.h"

#include "registers.h"

// Regions are powers of two: the largest that ends within the code.
static void protectCode(void) {
  uint32_t bytes = (uint32_t)code_end - (uint32_t)code_begin;
  uint32_t exponent = 31u - (uint32_t)__builtin_clz(bytes);
  REGISTER(MPU_RNR) = 0;
  REGISTER(MPU_RBAR) = (uint32_t)code_begin;
  REGISTER(MPU_RASR) = MPU_READ_ONLY | ((exponent - 1u) << 1) | MPU_REGION_ON;
  REGISTER(MPU_CTRL) = MPU_ON_WITH_BACKGROUND;
}

void stack_start(void) {
  uint32_t *here = __builtin_frame_address(0);
  // All of it is marked, so that the deepest use can be read out afterwards.
  for (uint32_t *word = stack_end; word < here - STACK_MARKED_WORDS; word++) *(volatile uint32_t *)word = STACK_MARK;
  protectCode();
}

bool port_stack_intact(void) {
  for (uint32_t i = 0; i < STACK_MARKED_WORDS; i++) {
    if (stack_end[i] != STACK_MARK) return false;
  }
  return true;
}

void stack_overrun(void) {
  // As calls that are too deep would: every word from here to the end is written, and the mark with them.
  for (volatile uint32_t *word = __builtin_frame_address(0); word > stack_end;) *--word = 0;
}
