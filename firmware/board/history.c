#include "history.h"

#include "kept.h"
#include "module.h"
#include "status.h"

static uint32_t fault_before;

void history_take(const PortInputs *inputs, uint32_t drives) {
  Kept *here = kept();
  uint32_t mode = module_word(MODULE_AT_PINS, OUTPUT_MODE);
  uint32_t fault = module_word(MODULE_AT_PINS, OUTPUT_FAULT);
  bool fault_came = fault != FAULT_NONE && fault != fault_before;
  fault_before = fault;
  if (mode != MODE_REST && mode != MODE_FAULT) here->moments_stand = 0;
  if (here->moments_stand != 0) return;
  if (fault_came) here->moments_stand = 1;
  else if (tick_number() % HISTORY_EVERY_ms != 0) return;
  here->moments[here->next_moment % KEPT_MOMENTS] = (wire_moment){
      .tick = tick_number(),
      .lines = (uint16_t)inputs->lines,
      .reading = inputs->readings[READINGS_PER_TICK - 1],
      .mode = (uint8_t)mode,
      .hold = (uint8_t)module_word(MODULE_AT_PINS, OUTPUT_HOLD),
      .fault = (uint8_t)fault,
      .drives = (uint8_t)drives,
      .z = (int32_t)module_word(MODULE_AT_PINS, OUTPUT_Z),
      .seen_V = module_real(MODULE_AT_PINS, OUTPUT_ARC_V),
      .seen_error_mm = module_real(MODULE_AT_PINS, OUTPUT_ERROR_MM),
  };
  here->next_moment++;
}

uint32_t history_read(uint32_t first, uint32_t most, wire_history *head, wire_moment *moments) {
  const Kept *here = kept();
  port_hold_ticks();
  uint32_t next = here->next_moment;
  uint32_t oldest = next > KEPT_MOMENTS ? next - KEPT_MOMENTS : 0;
  if (first < oldest) first = oldest;
  if (first > next) first = next;
  uint32_t count = next - first < most ? next - first : most;
  for (uint32_t i = 0; i < count; i++) moments[i] = here->moments[(first + i) % KEPT_MOMENTS];
  port_release_ticks();
  *head = (wire_history){.first = first, .next = next};
  return count;
}
