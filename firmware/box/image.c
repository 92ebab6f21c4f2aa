#include "image.h"

#include "port.h"
#include "status.h"

static wire_image_head running;

void slot_flash_read(uint32_t at, void *bytes, size_t length) { port_flash_read(at, bytes, length); }

void image_read_head(void) {
  if (!slot_head(port_boot_slot(), &running)) running = (wire_image_head){0};
}

const wire_image_head *image_head(void) { return &running; }

bool image_other(wire_image_head *head) { return slot_head(port_boot_slot() == 0 ? 1u : 0u, head); }

uint32_t image_slot(Frame *frame, uint32_t origin) {
  wire_slot_request request;
  if (frame->length != sizeof request) return STATUS_LENGTH;
  __builtin_memcpy(&request, frame->payload, sizeof request);
  if (request.slot >= SLOTS) return STATUS_RANGE;
  if (status_key_on()) return STATUS_KEY;
  wire_slot found = slot_look(request.slot);
  found.runs = request.slot == port_boot_slot() ? 1 : 0;
  if (found.runs != 0) found.origin = (uint8_t)origin;
  if (found.runs != 0 && found.holds == SLOT_VALID && port_on_trial()) found.holds = SLOT_TRIAL;
  __builtin_memcpy(frame->payload, &found, sizeof found);
  frame->length = sizeof found;
  return STATUS_DONE;
}
