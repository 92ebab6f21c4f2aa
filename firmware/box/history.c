#include "history.h"

#include "kept.h"
#include "module.h"
#include "status.h"

static uint32_t fault_before;

void history_take(uint32_t digital_outputs) {
  Kept *here = kept();
  uint32_t mode = module_word(MODULE_AT_PINS, OUTPUT_MODE);
  uint32_t fault = module_word(MODULE_AT_PINS, OUTPUT_FAULT);
  bool new_fault = fault != FAULT_NONE && fault != fault_before;
  fault_before = fault;
  if (mode != MODE_REST && mode != MODE_FAULT) here->history_frozen = 0;
  if (here->history_frozen != 0) return;
  if (new_fault) here->history_frozen = 1;
  else if (tick_number() % HISTORY_EVERY_ms != 0) return;
  here->moments[here->next_moment % KEPT_MOMENTS] = (wire_moment){
#define GIVE(field, type, read, at) .field = as_##type(module_##read(MODULE_AT_PINS, at)),
      MOMENT_FROM_MODULE(GIVE)
      .tick = tick_number(),
      .digital_outputs = as_u8(digital_outputs),
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
