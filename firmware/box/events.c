#include "events.h"

#include "kept.h"
#include "status.h"

void events_add(uint32_t kind, uint32_t detail, int32_t value) {
  Kept *here = kept();
  here->events[here->next_event % KEPT_EVENTS] = (wire_event){
      .tick = tick_number(),
      .start = (uint16_t)here->starts,
      .kind = (uint16_t)kind,
      .detail = detail,
      .value = value,
  };
  here->next_event++;
}

void events_add_idle(uint32_t kind, uint32_t detail, int32_t value) {
  port_hold_ticks();
  events_add(kind, detail, value);
  port_release_ticks();
}

uint32_t events_read(uint32_t first, uint32_t most, wire_events *head, wire_event *events) {
  const Kept *here = kept();
  port_hold_ticks();
  uint32_t next = here->next_event;
  uint32_t oldest = next > KEPT_EVENTS ? next - KEPT_EVENTS : 0;
  if (first < oldest) first = oldest;
  if (first > next) first = next;
  uint32_t count = next - first < most ? next - first : most;
  for (uint32_t i = 0; i < count; i++) events[i] = here->events[(first + i) % KEPT_EVENTS];
  port_release_ticks();
  *head = (wire_events){.first = first, .next = next};
  return count;
}
