#include "telemetry.h"

#include "module.h"
#include "status.h"

#define QUEUE_ROWS 16u

typedef struct {
  uint16_t sequence;
  wire_telemetry row;
} Queued;

// Each count is written by one side only: rows in by the tick, rows out by the idle loop.
static Queued queue[QUEUE_ROWS];
static volatile uint32_t rows_in, rows_out;
static volatile uint32_t every, left;
static uint16_t sequence;

void telemetry_request(uint32_t every_ms) {
  port_hold_ticks();
  every = every_ms;
  left = every_ms;
  port_release_ticks();
}

bool telemetry_runs(void) { return every != 0; }

static void fill(wire_telemetry *row, const PortInputs *inputs, uint32_t digital_outputs, int32_t z_steps) {
#define FILL(field, type, read, at) row->field = as_##type(module_##read(MODULE_AT_PINS, at));
  TELEMETRY_FROM_MODULE(FILL)
  row->tick = tick_number();
  row->digital_outputs = as_u8(digital_outputs);
  row->z_steps = as_i16((uint32_t)z_steps);
  row->relay = inputs->relay ? 1 : 0;
}

wire_telemetry *telemetry_row(const PortInputs *inputs, uint32_t digital_outputs, int32_t z_steps) {
  if (every == 0 || --left != 0) return NULL;
  left = every;
  uint16_t number = sequence++;
  if (rows_in - rows_out == QUEUE_ROWS) return NULL;
  Queued *place = &queue[rows_in % QUEUE_ROWS];
  place->sequence = number;
  fill(&place->row, inputs, digital_outputs, z_steps);
  return &place->row;
}

void telemetry_push(wire_telemetry *row, uint32_t cycles) {
  if (row == NULL) return;
  row->cycles = (uint16_t)(cycles / 4u > UINT16_MAX ? UINT16_MAX : cycles / 4u);
  rows_in++;
}

bool telemetry_take(Frame *frame) {
  if (rows_out == rows_in) return false;
  const Queued *place = &queue[rows_out % QUEUE_ROWS];
  frame->service = SERVICE_TELEMETRY_ROW | ANSWER;
  frame->status = STATUS_DONE;
  frame->sequence = place->sequence;
  frame->length = sizeof place->row;
  __builtin_memcpy(frame->payload, &place->row, sizeof place->row);
  rows_out++;
  return true;
}
