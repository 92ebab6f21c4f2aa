#include "status.h"

volatile Status box_status;

uint32_t status_may_change(void) {
  if (status_key_on()) return STATUS_KEY;
  if (port_at_desk()) return STATUS_DONE;
  if (box_status.number == 0 || box_status.mode != MODE_REST) return STATUS_BUSY;
  return (box_status.flags & FLAG_NEAR_ZERO) != 0 ? STATUS_DONE : STATUS_VOLTAGE;
}
