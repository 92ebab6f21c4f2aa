#include "services.h"

#include "build.gen.h"
#include "desk.h"
#include "events.h"
#include "history.h"
#include "image.h"
#include "lockstep.h"
#include "module.h"
#include "parameters.h"
#include "port.h"
#include "readings.h"
#include "store.h"
#include "status.h"
#include "telemetry.h"
#include "trial.h"

#define NO_SEQUENCE (-1)

static const uint8_t MODULE_SHA256[32] = MODULE_SHA256_BYTES;
static uint8_t fault_before;
// Of the last successful commit, for a host whose answer was lost.
static int32_t committed_sequence = NO_SEQUENCE;
static uint32_t committed_way;

void services_start(const Stopped *stopped) {
  fault_before = (uint8_t)stopped->fault;
}

uint32_t services_may_leave(void) { return lockstep_runs() ? STATUS_LOCKSTEP : status_may_change(); }

static void put(Frame *frame, const void *bytes, uint32_t length) {
  __builtin_memcpy(frame->payload, bytes, length);
  frame->length = (uint16_t)length;
}

static uint32_t identity(Frame *frame) {
  wire_identity identity = {
      .protocol = PROTOCOL,
      .board = BOARD_KIND,
      .boot = (uint8_t)port_boot_cause(),
      .slot = (uint8_t)port_boot_slot(),
      .fault_before = fault_before,
      .generation = image_head()->generation,
      .parameter_generation = store_generation(),
      .parameter_count = PARAMETER_COUNT,
      .capacity = (uint16_t)port_capacity(),
      .tick = tick_number(),
      .worst_tick_cycles = box_status.worst_cycles,
      .cycles_per_ms = port_cycles_per_ms(),
      .version = VERSION_TEXT,
      .chip_id = port_chip_id(),
  };
  __builtin_memcpy(identity.module_sha256, MODULE_SHA256, sizeof identity.module_sha256);
  __builtin_memcpy(identity.image_sha256, image_head()->image_sha256, sizeof identity.image_sha256);
  put(frame, &identity, sizeof identity);
  return STATUS_DONE;
}

static uint32_t lineSpeed(const Frame *frame, Afterwards *afterwards) {
  wire_line_speed request;
  if (frame->length != sizeof request) return STATUS_LENGTH;
  __builtin_memcpy(&request, frame->payload, sizeof request);
  if (request.baud < BAUD_LEAST || request.baud > BAUD_MOST) return STATUS_SPEED;
  afterwards->speed = request.baud;
  return STATUS_DONE;
}

static uint32_t trim(Frame *frame) {
  wire_trim wanted;
  if (frame->length != sizeof wanted) return STATUS_LENGTH;
  __builtin_memcpy(&wanted, frame->payload, sizeof wanted);
  uint32_t status = parameters_trim(&wanted.trim_V);
  put(frame, &wanted, sizeof wanted);
  return status;
}

static uint32_t telemetry(const Frame *frame) {
  wire_telemetry_request request;
  if (frame->length != sizeof request) return STATUS_LENGTH;
  __builtin_memcpy(&request, frame->payload, sizeof request);
  telemetry_request(request.every_ms);
  return STATUS_DONE;
}

// Reads a span and limits it to what fits into one answer behind `head_bytes`.
static bool span(const Frame *frame, uint32_t head_bytes, uint32_t record_bytes, wire_span *request) {
  if (frame->length != sizeof *request) return false;
  __builtin_memcpy(request, frame->payload, sizeof *request);
  uint32_t most = (PAYLOAD_MOST - head_bytes) / record_bytes;
  if (request->count > most) request->count = most;
  return true;
}

static uint32_t parametersRead(Frame *frame) {
  wire_span request;
  if (!span(frame, 0, sizeof(wire_value), &request)) return STATUS_LENGTH;
  uint32_t count = parameters_read(request.first, request.count, (wire_value *)(void *)frame->payload);
  frame->length = (uint16_t)(count * sizeof(wire_value));
  return STATUS_DONE;
}

static uint32_t eventsRead(Frame *frame) {
  wire_span request;
  wire_events head;
  if (!span(frame, sizeof head, sizeof(wire_event), &request)) return STATUS_LENGTH;
  wire_event *events = (wire_event *)(void *)(frame->payload + sizeof head);
  uint32_t count = events_read(request.first, request.count, &head, events);
  put(frame, &head, sizeof head);
  frame->length = (uint16_t)(sizeof head + count * sizeof(wire_event));
  return STATUS_DONE;
}

static uint32_t historyRead(Frame *frame) {
  wire_span request;
  wire_history head;
  if (!span(frame, sizeof head, sizeof(wire_moment), &request)) return STATUS_LENGTH;
  wire_moment *moments = (wire_moment *)(void *)(frame->payload + sizeof head);
  uint32_t count = history_read(request.first, request.count, &head, moments);
  put(frame, &head, sizeof head);
  frame->length = (uint16_t)(sizeof head + count * sizeof(wire_moment));
  return STATUS_DONE;
}

// The three services for staged parameters give the same answer, also when they refuse.
static uint32_t staging(Frame *frame, uint32_t way, bool elsewhere) {
  Refused refused = {.id = NO_PARAMETER, .other = NO_PARAMETER};
  uint32_t status = STATUS_LENGTH;
  if (elsewhere) {
    status = STATUS_OTHER_HOST;
  } else if (frame->service == SERVICE_PARAMETERS_STAGE) {
    uint32_t count = frame->length / sizeof(wire_value);
    if (count * sizeof(wire_value) == frame->length) {
      status = parameters_stage((const wire_value *)(const void *)frame->payload, count, &refused);
    }
  } else if (frame->length == 0) {
    bool commit = frame->service == SERVICE_PARAMETERS_COMMIT;
    bool asked_again = way == committed_way && frame->sequence == committed_sequence;
    bool again = commit && parameters_staged() == 0 && asked_again;
    if (again) status = STATUS_DONE;
    else status = commit ? parameters_commit(&refused) : parameters_check(&refused);
    if (commit && status == STATUS_DONE) {
      committed_sequence = frame->sequence;
      committed_way = way;
    }
  }
  wire_staged staged = {
      .count = (uint16_t)parameters_staged(),
      .id = refused.id,
      .generation = store_generation(),
      .other = refused.other,
  };
  put(frame, &staged, sizeof staged);
  return status;
}

// Where the box stands, with what may stand in the way of a request.
static uint32_t state(Frame *frame) {
  wire_state now = {
      .tick = tick_number(),
      .digital_inputs = box_status.digital_inputs,
      .digital_outputs = box_status.digital_outputs,
      .flags = box_status.flags,
      .measured_V = module_real(MODULE_AT_PINS, OUTPUT_MEASURED_V),
      .mode = (uint8_t)box_status.mode,
      .fault = (uint8_t)box_status.fault,
      .refusal = (uint8_t)module_word(MODULE_AT_PINS, OUTPUT_REFUSAL),
      .desk = port_at_desk() ? 1 : 0,
  };
  put(frame, &now, sizeof now);
  return STATUS_DONE;
}

static uint32_t leave(Afterwards *afterwards, uint32_t status, uint32_t cause) {
  afterwards->leave = status == STATUS_DONE;
  afterwards->cause = cause;
  return status;
}

// Services whose request is empty.
static uint32_t plain(Frame *frame, Afterwards *afterwards) {
  if (frame->length != 0) return STATUS_LENGTH;
  uint32_t status = STATUS_DONE;
  wire_ping ping = {.tick = tick_number()};
  wire_readings readings;
  switch (frame->service) {
    case SERVICE_IDENTITY:
      return identity(frame);
    case SERVICE_PING:
      put(frame, &ping, sizeof ping);
      return STATUS_DONE;
    case SERVICE_READINGS:
      readings = readings_of_second();
      put(frame, &readings, sizeof readings);
      return STATUS_DONE;
    case SERVICE_LOCKSTEP_BEGIN:
      status = lockstep_begin();
      return status == STATUS_DONE ? identity(frame) : status;
    case SERVICE_LOCKSTEP_END:
      lockstep_end();
      return STATUS_DONE;
    case SERVICE_DESK_BEGIN:
      return desk_begin();
    case SERVICE_STATE:
      return state(frame);
    case SERVICE_RESTART:
      return leave(afterwards, desk_may_end(), BOOT_RESTART);
    default: // SERVICE_LOADER_ENTER
      return leave(afterwards, services_may_leave(), BOOT_LOADER);
  }
}

static uint32_t trial(Frame *frame) {
  if (lockstep_runs() && !status_key_on()) return STATUS_LOCKSTEP;
  return frame->service == SERVICE_TRIAL_OUTPUTS ? trial_outputs(frame) : trial_failure(frame);
}

static uint32_t serve(Frame *frame, Afterwards *afterwards) {
  switch (frame->service) {
    case SERVICE_IDENTITY:
    case SERVICE_PING:
    case SERVICE_READINGS:
    case SERVICE_LOCKSTEP_BEGIN:
    case SERVICE_LOCKSTEP_END:
    case SERVICE_DESK_BEGIN:
    case SERVICE_STATE:
    case SERVICE_RESTART:
    case SERVICE_LOADER_ENTER:
      return plain(frame, afterwards);
    case SERVICE_LINE_SPEED:
      return lineSpeed(frame, afterwards); // the request's payload is the answer's
    case SERVICE_TRIM:
      return trim(frame);
    case SERVICE_SLOT:
      return image_slot(frame, store_origin());
    case SERVICE_TELEMETRY:
      return telemetry(frame);
    case SERVICE_PARAMETERS_READ:
      return parametersRead(frame);
    case SERVICE_EVENTS_READ:
      return eventsRead(frame);
    case SERVICE_HISTORY_READ:
      return historyRead(frame);
    case SERVICE_LOCKSTEP_TICKS:
      return lockstep_ticks(frame);
    case SERVICE_LOCKSTEP_PARAMETER:
      return lockstep_parameter(frame);
    case SERVICE_TRIAL_OUTPUTS:
    case SERVICE_TRIAL_FAILURE:
      return trial(frame);
    default:
      return STATUS_UNKNOWN;
  }
}

bool services_answer(Frame *frame, uint32_t way, bool elsewhere, Afterwards *afterwards) {
  *afterwards = (Afterwards){0};
  if ((frame->service & ANSWER) != 0) return false;
  bool stages = frame->service >= SERVICE_PARAMETERS_STAGE && frame->service <= SERVICE_PARAMETERS_COMMIT;
  uint32_t status;
  if (stages) status = staging(frame, way, elsewhere);
  else status = elsewhere ? STATUS_OTHER_HOST : serve(frame, afterwards);
  if (status != STATUS_DONE && !stages) frame->length = 0;
  frame->service |= ANSWER;
  frame->status = (uint8_t)status;
  return true;
}
