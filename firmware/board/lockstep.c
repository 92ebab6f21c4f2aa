#include "lockstep.h"

#include "events.h"
#include "module.h"
#include "tick.h"

#define SILENCE_ms 2000u
#define TICKS_MOST (PAYLOAD_MOST / OUTPUT_BYTES)
#define LOAD_DEFAULTS (-1)
#define POWER_UP (-2)

static bool runs;
static uint32_t asked_at;
// The last ticks, for a host whose answer was lost.
static bool answered;
static uint16_t last_sequence, last_length;
static uint32_t last_crc;
static uint8_t last_outputs[TICKS_MOST * OUTPUT_BYTES];

bool lockstep_runs(void) { return runs; }

uint32_t lockstep_begin(void) {
  if (tick_key_on()) return STATUS_KEY;
  if (!runs) {
    uint32_t status = tick_may_change();
    if (status != STATUS_DONE) return status;
    events_add_idle(EVENT_LOCKSTEP, 1, 0);
  }
  tick_rest_outputs(true);
  runs = true;
  answered = false;
  asked_at = tick_number();
  __builtin_memcpy(module_blocks[MODULE_ASIDE].parameters, module_blocks[MODULE_AT_PINS].parameters, PARAMETER_COUNT * sizeof(float));
  module_power_up(MODULE_ASIDE);
  return STATUS_DONE;
}

void lockstep_end(void) {
  if (!runs) return;
  runs = false;
  tick_rest_outputs(false);
  events_add_idle(EVENT_LOCKSTEP, 0, 0);
}

void lockstep_work(void) {
  if (runs && (tick_key_on() || tick_number() - asked_at > SILENCE_ms)) lockstep_end();
}

static bool again(const Frame *frame, uint32_t crc) {
  return answered && frame->sequence == last_sequence && frame->length == last_length && crc == last_crc;
}

uint32_t lockstep_ticks(Frame *frame) {
  if (!runs) return STATUS_NOT_BEGUN;
  uint32_t count = frame->length / INPUT_BYTES;
  if (count == 0 || count > TICKS_MOST || count * INPUT_BYTES != frame->length) return STATUS_LENGTH;
  asked_at = tick_number();
  uint32_t crc = crc32(0, frame->payload, frame->length);
  if (!again(frame, crc)) {
    for (uint32_t i = 0; i < count; i++) {
      __builtin_memcpy(module_blocks[MODULE_ASIDE].input, frame->payload + i * INPUT_BYTES, INPUT_BYTES);
      module_tick(MODULE_ASIDE);
      __builtin_memcpy(last_outputs + i * OUTPUT_BYTES, module_blocks[MODULE_ASIDE].output, OUTPUT_BYTES);
    }
    answered = true;
    last_sequence = frame->sequence;
    last_length = frame->length;
    last_crc = crc;
  }
  frame->length = (uint16_t)(count * OUTPUT_BYTES);
  __builtin_memcpy(frame->payload, last_outputs, frame->length);
  return STATUS_DONE;
}

uint32_t lockstep_parameter(Frame *frame) {
  wire_one_value wish;
  if (frame->length != sizeof wish) return STATUS_LENGTH;
  if (!runs) return STATUS_NOT_BEGUN;
  asked_at = tick_number();
  __builtin_memcpy(&wish, frame->payload, sizeof wish);
  wire_one_answer answer = {.answer = SET_DONE};
  if (wish.id == LOAD_DEFAULTS) module_load_defaults(MODULE_ASIDE);
  else if (wish.id == POWER_UP) module_power_up(MODULE_ASIDE);
  else answer.answer = module_set_parameter(MODULE_ASIDE, wish.id, wish.value);
  frame->length = sizeof answer;
  __builtin_memcpy(frame->payload, &answer, sizeof answer);
  return STATUS_DONE;
}
