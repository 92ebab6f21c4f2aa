#include "stack.h"

#include "registers.h"

void stack_start(void) {
  uint32_t *here = __builtin_frame_address(0);
  // All of it is marked, so that the deepest use can be read off afterwards.
  for (uint32_t *word = stack_end; word < here - STACK_MARKED_WORDS; word++) *(volatile uint32_t *)word = STACK_MARK;
  REGISTER(MPU_RNR) = 0;
  REGISTER(MPU_RBAR) = (uint32_t)stack_guard_region;
  REGISTER(MPU_RASR) = MPU_256_BYTES_NO_ACCESS;
  REGISTER(MPU_CTRL) = MPU_ON_WITH_BACKGROUND;
}

bool port_stack_intact(void) {
  for (uint32_t i = 0; i < STACK_MARKED_WORDS; i++) {
    if (stack_end[i] != STACK_MARK) return false;
  }
  return true;
}
