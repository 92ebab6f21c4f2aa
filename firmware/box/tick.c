#include "tick.h"

#include "events.h"
#include "heartbeat.h"
#include "history.h"
#include "kept.h"
#include "lamp.h"
#include "module.h"
#include "port.h"
#include "readings.h"
#include "status.h"
#include "telemetry.h"
#include "trial.h"

// port_cycles wraps at 2^24 at the earliest.
#define CYCLES_MASK 0xffffffu
// An input that chatters does not push everything else out of the ring.
#define INPUT_EVENTS_EVERY_ms 20u

static volatile bool rest_outputs[REST_CAUSES];
static uint32_t last_cycles;
// Last values recorded as events.
static uint32_t noted_inputs, noted_inputs_at, noted_outputs, noted_fault, noted_mode, noted_hold, noted_flags;

void tick_rest_outputs(RestCause cause, bool rest) { rest_outputs[cause] = rest; }

// Copies the inputs as sampled: the module interprets them.
static void give(const PortInputs *inputs) {
  uint8_t *block = module_blocks[MODULE_AT_PINS].input;
  uint16_t *readings = __builtin_assume_aligned(block + INPUT_READINGS, 4);
  uint32_t *words = __builtin_assume_aligned(block, 4);
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) readings[i] = inputs->readings[i];
  bool rest = rest_outputs[REST_FOR_LOCKSTEP] || rest_outputs[REST_FOR_PARAMETERS];
  words[INPUT_DIGITAL / 4u] = inputs->digital_inputs | (inputs->relay ? INPUT_RELAY : 0u) | (rest ? INPUT_REST : 0u);
  words[INPUT_X_STEPS / 4u] = (uint32_t)inputs->x_steps;
  words[INPUT_Y_STEPS / 4u] = (uint32_t)inputs->y_steps;
  words[INPUT_REFERENCE / 4u] = inputs->reference;
}

// In whole millivolts; 0 when out of range or NaN.
static int32_t milli(float value) {
  return value > -1e6f && value < 1e6f ? (int32_t)(value * 1000.0f) : 0;
}

// Records what changed since the last tick.
static void note(const PortInputs *inputs, uint32_t digital_outputs) {
  uint32_t now = box_status.number;
  if ((inputs->digital_inputs & INPUT_OVERRUN) != 0) events_add(EVENT_OVERRUN, 0, (int32_t)last_cycles);
  if (inputs->digital_inputs != noted_inputs && now - noted_inputs_at >= INPUT_EVENTS_EVERY_ms) {
    noted_inputs = inputs->digital_inputs;
    noted_inputs_at = now;
    events_add(EVENT_DIGITAL_INPUTS, noted_inputs, 0);
  }
  uint32_t flags = box_status.flags;
  if ((flags & ~noted_flags & FLAG_CONVERTER_DEAD) != 0) events_add(EVENT_CONVERTER, inputs->reference, 0);
  noted_flags = flags;
  uint32_t mode_now = box_status.mode | module_word(MODULE_AT_PINS, OUTPUT_STAGE) << 8;
  uint32_t hold = module_word(MODULE_AT_PINS, OUTPUT_HOLD);
  if (mode_now != noted_mode || hold != noted_hold) {
    noted_mode = mode_now;
    noted_hold = hold;
    events_add(EVENT_MODE, mode_now, (int32_t)hold);
  }
  uint32_t fault = box_status.fault;
  if (fault != noted_fault && fault != FAULT_NONE) {
    events_add(EVENT_FAULT, fault, milli(module_real(MODULE_AT_PINS, OUTPUT_FAULT_READING_V)));
  }
  if (digital_outputs != noted_outputs) {
    noted_outputs = digital_outputs;
    events_add(EVENT_DIGITAL_OUTPUTS, digital_outputs, 0);
  }
}

static void publish(const PortInputs *inputs, uint32_t digital_outputs) {
  box_status.digital_inputs = inputs->digital_inputs;
  box_status.relay = inputs->relay;
  box_status.digital_outputs = digital_outputs;
  box_status.mode = module_word(MODULE_AT_PINS, OUTPUT_MODE);
  box_status.fault = module_word(MODULE_AT_PINS, OUTPUT_FAULT);
  box_status.flags = module_word(MODULE_AT_PINS, OUTPUT_FLAGS);
  Kept *here = kept();
  // At the first tick the fault that the box stood in before its restart: one that stands again is no new one.
  noted_fault = here->fault;
  here->tick = box_status.number;
  here->mode = box_status.mode;
  here->fault = box_status.fault;
}

void box_tick(void) {
  uint32_t begun = port_cycles();
  box_status.running = true;
  PortInputs inputs;
  port_inputs(&inputs);
  box_status.number++;
  readings_take(&inputs);
  give(&inputs);
  module_tick(MODULE_AT_PINS);

  // The guard's word goes to the pins unchanged; in the desk state the port lets nothing of it through but the latched stop.
  int32_t z_steps = (int32_t)module_word(MODULE_AT_PINS, OUTPUT_Z_STEPS);
  uint32_t digital_outputs = port_outputs(module_word(MODULE_AT_PINS, OUTPUT_DIGITAL), z_steps);
  if (port_at_desk()) z_steps = 0;
  port_trigger((digital_outputs & OUTPUT_TRIGGER) != 0);
  trial_tick(&inputs);
  publish(&inputs, digital_outputs);
  port_lamp(lamp_lit(inputs.digital_inputs));
  port_led(heartbeat_lit(port_at_desk() ? HEARTBEAT_DESK : HEARTBEAT_BOX, box_status.number));

  note(&inputs, digital_outputs);
  history_take(digital_outputs);
  wire_telemetry *row = telemetry_row(&inputs, digital_outputs, z_steps);
  if (!port_stack_intact()) port_restart(BOOT_STACK);
  last_cycles = (port_cycles() - begun) & CYCLES_MASK;
  if (last_cycles > box_status.worst_cycles) box_status.worst_cycles = last_cycles;
  telemetry_push(row, last_cycles);
  box_status.running = false;
  port_watchdog();
}
