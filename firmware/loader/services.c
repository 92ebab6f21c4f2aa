#include "services.h"

#include "build.gen.h"
#include "chip.h"
#include "slots.h"

// An update belongs to the way over which it was begun, until that way is silent for this long.
#define SILENCE_ms 1000u

static void put(Frame *frame, const void *bytes, uint32_t length) {
  __builtin_memcpy(frame->payload, bytes, length);
  frame->length = (uint16_t)length;
}

static void putState(const Loader *loader, Frame *frame) {
  wire_update_state state = update_state(&loader->update);
  put(frame, &state, sizeof state);
}

static uint32_t identity(const Loader *loader, Frame *frame) {
  wire_identity identity = {
      .protocol = PROTOCOL,
      .board = BOARD_KIND,
      .in_loader = 1,
      .boot = (uint8_t)loader->cause,
      .slot = (uint8_t)loader->update.boots,
      .generation = loader->update.in_force.generation,
      .tick = loader->ms,
      .cycles_per_ms = CLOCK_HZ / 1000u,
      .version = VERSION_TEXT,
  };
  const wire_image_head *head = &loader->update.in_force;
  __builtin_memcpy(identity.module_sha256, head->module_sha256, sizeof identity.module_sha256);
  __builtin_memcpy(identity.image_sha256, head->image_sha256, sizeof identity.image_sha256);
  put(frame, &identity, sizeof identity);
  return STATUS_DONE;
}

static uint32_t lineSpeed(Loader *loader, Frame *frame) {
  if (frame->length != sizeof(wire_line_speed)) return STATUS_LENGTH;
  wire_line_speed request;
  __builtin_memcpy(&request, frame->payload, sizeof request);
  if (request.baud < BAUD_LEAST || request.baud > BAUD_MOST) return STATUS_SPEED;
  loader->speed = request.baud;
  return STATUS_DONE;
}

static uint32_t begin(Loader *loader, const Frame *frame) {
  if (frame->length != sizeof(wire_image_head)) return STATUS_LENGTH;
  wire_image_head head;
  __builtin_memcpy(&head, frame->payload, sizeof head);
  return update_begin(&loader->update, &head, loader->key_on);
}

static uint32_t write(Loader *loader, const Frame *frame) {
  if (frame->length < sizeof(wire_update_bytes)) return STATUS_LENGTH;
  wire_update_bytes place;
  __builtin_memcpy(&place, frame->payload, sizeof place);
  return update_write(&loader->update, place.offset, frame->payload + sizeof place, frame->length - (uint32_t)sizeof place);
}

static uint32_t slot(const Loader *loader, Frame *frame) {
  wire_slot_request request;
  if (frame->length != sizeof request) return STATUS_LENGTH;
  __builtin_memcpy(&request, frame->payload, sizeof request);
  if (request.slot >= SLOTS) return STATUS_RANGE;
  if (update_working(&loader->update) || chip_busy()) return STATUS_BUSY;
  wire_slot found = slot_look(request.slot);
  found.runs = request.slot == loader->update.boots ? 1 : 0;
  bool fresh = loader->update.done && !loader->update.written_before;
  if (found.runs != 0 && found.holds == SLOT_VALID && (loader->trial || fresh)) found.holds = SLOT_TRIAL;
  put(frame, &found, sizeof found);
  return STATUS_DONE;
}

static bool elsewhere(const Loader *loader, uint32_t service, uint32_t way) {
  bool about_update = service == SERVICE_UPDATE_BEGIN || service == SERVICE_UPDATE_WRITE ||
                      service == SERVICE_UPDATE_FINISH || service == SERVICE_RESTART;
  if (!about_update || !loader->update.begun || loader->owner == way) return false;
  return loader->ms - loader->heard_ms[loader->owner] <= SILENCE_ms;
}

// `way` asks: what of an update is its own.
static uint32_t serve(Loader *loader, Frame *frame, uint32_t way, bool *with_state) {
  bool empty = frame->length == 0;
  uint32_t status = STATUS_LENGTH;
  *with_state = frame->service >= SERVICE_UPDATE_BEGIN && frame->service <= SERVICE_UPDATE_FINISH;
  if (elsewhere(loader, frame->service, way)) return STATUS_OTHER_HOST;
  switch (frame->service) {
    case SERVICE_IDENTITY:
      if (empty) status = identity(loader, frame);
      break;
    case SERVICE_PING:
      if (empty) status = STATUS_DONE;
      if (empty) put(frame, &(wire_ping){.tick = loader->ms}, sizeof(wire_ping));
      break;
    case SERVICE_LINE_SPEED:
      status = lineSpeed(loader, frame); // the request's payload is the answer's
      break;
    case SERVICE_UPDATE_BEGIN:
      status = begin(loader, frame);
      if (status == STATUS_DONE) loader->owner = way;
      break;
    case SERVICE_UPDATE_WRITE:
      status = write(loader, frame);
      break;
    case SERVICE_UPDATE_FINISH:
      if (empty) status = update_finish(&loader->update, loader->key_on);
      break;
    case SERVICE_SLOT:
      status = loader->key_on ? STATUS_KEY : slot(loader, frame);
      break;
    case SERVICE_RESTART:
      if (empty) status = STATUS_DONE;
      loader->restart = empty;
      break;
    default:
      status = STATUS_UNKNOWN;
  }
  return status;
}

bool loader_answer(Loader *loader, Frame *frame, uint32_t way) {
  if ((frame->service & ANSWER) != 0) return false;
  bool with_state = false;
  uint32_t status = serve(loader, frame, way, &with_state);
  if (with_state) putState(loader, frame);
  else if (status != STATUS_DONE) frame->length = 0;
  frame->service |= ANSWER;
  frame->status = (uint8_t)status;
  return true;
}
