#include "lockstep.h"

#include "events.h"
#include "module.h"
#include "status.h"
#include "tick.h"

#define SILENCE_ms 2000u
#define TICKS_MOST (PAYLOAD_MOST / OUTPUT_BYTES)
#define LOAD_DEFAULTS (-1)
#define POWER_UP (-2)

static bool runs;
static uint32_t request_at; // tick of the last request
// Ticks since lockstep began, and the outputs of the last ones, for a host whose answer was lost.
static uint32_t done;
static uint8_t kept[LOCKSTEP_KEPT][OUTPUT_BYTES];
_Static_assert(LOCKSTEP_KEPT >= TICKS_MOST, "the ticks of one request are kept until it is answered");

bool lockstep_runs(void) { return runs; }

uint32_t lockstep_begin(void) {
  lockstep_work();
  if (status_key_on()) return STATUS_KEY;
  if (!runs) {
    uint32_t status = status_may_change();
    if (status != STATUS_DONE) return status;
    events_add_idle(EVENT_LOCKSTEP, 1, 0);
  }
  tick_rest_outputs(REST_FOR_LOCKSTEP, true);
  runs = true;
  done = 0;
  request_at = tick_number();
  __builtin_memcpy(module_blocks[MODULE_IN_LOCKSTEP].parameters, module_blocks[MODULE_AT_PINS].parameters, PARAMETER_COUNT * sizeof(float));
  module_power_up(MODULE_IN_LOCKSTEP);
  return STATUS_DONE;
}

// Between two ticks. A power-up must not clear a fault, or what may become one (voltage, a closed firing contact).
static void releaseOutputs(void) {
  port_hold_ticks();
  bool no_fault_pending = !status_faulted() && (box_status.flags & FLAG_NEAR_ZERO) != 0 && !box_status.relay;
  if (no_fault_pending) module_power_up(MODULE_AT_PINS);
  tick_rest_outputs(REST_FOR_LOCKSTEP, false);
  port_release_ticks();
}

void lockstep_end(void) {
  if (!runs) return;
  runs = false;
  releaseOutputs();
  events_add_idle(EVENT_LOCKSTEP, 0, 0);
}

void lockstep_work(void) {
  // In the desk state a fault changes nothing: the outputs rest by the port.
  bool fault_ends = status_faulted() && !port_at_desk();
  if (runs && (status_key_on() || fault_ends || tick_number() - request_at > SILENCE_ms)) lockstep_end();
}

uint32_t lockstep_ticks(Frame *frame) {
  wire_tick_inputs place;
  if (!runs) return STATUS_NOT_BEGUN;
  if (frame->length < sizeof place) return STATUS_LENGTH;
  uint32_t bytes = frame->length - (uint32_t)sizeof place;
  uint32_t count = bytes / INPUT_BYTES;
  if (count == 0 || count > TICKS_MOST || count * INPUT_BYTES != bytes) return STATUS_LENGTH;
  request_at = tick_number();
  __builtin_memcpy(&place, frame->payload, sizeof place);
  // Beyond the next tick: a request was lost. Older than what is kept: its answer is no longer available.
  if (place.first > done || done - place.first > LOCKSTEP_KEPT) return STATUS_PLACE;
  for (uint32_t i = done - place.first; i < count; i++) {
    __builtin_memcpy(module_blocks[MODULE_IN_LOCKSTEP].input, frame->payload + sizeof place + i * INPUT_BYTES, INPUT_BYTES);
    module_tick(MODULE_IN_LOCKSTEP);
    __builtin_memcpy(kept[done++ % LOCKSTEP_KEPT], module_blocks[MODULE_IN_LOCKSTEP].output, OUTPUT_BYTES);
  }
  for (uint32_t i = 0; i < count; i++) {
    __builtin_memcpy(frame->payload + i * OUTPUT_BYTES, kept[(place.first + i) % LOCKSTEP_KEPT], OUTPUT_BYTES);
  }
  frame->length = (uint16_t)(count * OUTPUT_BYTES);
  return STATUS_DONE;
}

uint32_t lockstep_parameter(Frame *frame) {
  wire_one_value request;
  if (frame->length != sizeof request) return STATUS_LENGTH;
  if (!runs) return STATUS_NOT_BEGUN;
  request_at = tick_number();
  __builtin_memcpy(&request, frame->payload, sizeof request);
  wire_one_answer answer = {.answer = SET_DONE};
  if (request.id == LOAD_DEFAULTS) module_load_defaults(MODULE_IN_LOCKSTEP);
  else if (request.id == POWER_UP) module_power_up(MODULE_IN_LOCKSTEP);
  else answer.answer = module_set_parameter(MODULE_IN_LOCKSTEP, request.id, request.value);
  frame->length = sizeof answer;
  __builtin_memcpy(frame->payload, &answer, sizeof answer);
  return STATUS_DONE;
}
