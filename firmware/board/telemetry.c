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

void telemetry_wish(uint32_t every_ms) {
  port_hold_ticks();
  every = every_ms;
  left = every_ms;
  port_release_ticks();
}

static int16_t small(int32_t value) {
  return (int16_t)(value > INT16_MAX ? INT16_MAX : value < INT16_MIN ? INT16_MIN : value);
}

static uint8_t byteOf(uint32_t at) { return (uint8_t)module_word(MODULE_AT_PINS, at); }

static void fill(wire_telemetry *row, const PortInputs *inputs, uint32_t drives, int32_t z_steps) {
  row->tick = tick_number();
  row->lines = (uint16_t)inputs->lines;
  row->reading = inputs->readings[READINGS_PER_TICK - 1];
  row->x_steps = small(inputs->x_steps);
  row->y_steps = small(inputs->y_steps);
  row->z_steps = small(z_steps);
  row->drives = (uint8_t)drives;
  row->mode = byteOf(OUTPUT_MODE);
  row->stage = byteOf(OUTPUT_STAGE);
  row->hold = byteOf(OUTPUT_HOLD);
  row->fault = byteOf(OUTPUT_FAULT);
  row->refusal = byteOf(OUTPUT_REFUSAL);
  row->flags = byteOf(OUTPUT_FLAGS);
  row->relay = inputs->relay ? 1 : 0;
  row->z = (int32_t)module_word(MODULE_AT_PINS, OUTPUT_Z);
  row->seen_V = module_real(MODULE_AT_PINS, OUTPUT_ARC_V);
  row->target_V = module_real(MODULE_AT_PINS, OUTPUT_TARGET_V);
  row->seen_error_mm = module_real(MODULE_AT_PINS, OUTPUT_ERROR_MM);
  row->z_velocity_mm_s = module_real(MODULE_AT_PINS, OUTPUT_Z_VELOCITY_MM_S);
  row->seen_feed_mm_s = module_real(MODULE_AT_PINS, OUTPUT_FEED_MM_S);
  row->slope_x = module_real(MODULE_AT_PINS, OUTPUT_SLOPE_X);
  row->slope_y = module_real(MODULE_AT_PINS, OUTPUT_SLOPE_Y);
  row->feed_effect_V = module_real(MODULE_AT_PINS, OUTPUT_FEED_EFFECT_V);
}

wire_telemetry *telemetry_row(const PortInputs *inputs, uint32_t drives, int32_t z_steps) {
  if (every == 0 || --left != 0) return NULL;
  left = every;
  uint16_t number = sequence++;
  if (rows_in - rows_out == QUEUE_ROWS) return NULL;
  Queued *place = &queue[rows_in % QUEUE_ROWS];
  place->sequence = number;
  fill(&place->row, inputs, drives, z_steps);
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
