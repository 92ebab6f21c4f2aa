#include "module.h"

#include "control.h"

#define COPIES 2u

typedef struct {
  w2c_control instance;
  uint8_t *input;
  const uint8_t *output;
  uint8_t *parameters;
} Copy;

static _Alignas(16) uint8_t memories[COPIES][MODULE_MEMORY_BYTES];
static uint32_t memories_given;
static Copy copies[COPIES];

void wasm_rt_trap(wasm_rt_trap_t kind) { box_trap((uint32_t)kind); }

// The module declares a page of 64 KiB and uses the beginning of it: it gets that, and an access beyond is a trap.
void wasm_rt_allocate_memory(wasm_rt_memory_t *memory, uint64_t pages, uint64_t most_pages, bool wide, uint32_t page_bytes) {
  (void)most_pages;
  (void)wide;
  if (pages != 1 || page_bytes < MODULE_MEMORY_BYTES || memories_given == COPIES) wasm_rt_trap(WASM_RT_TRAP_OOB);
  memory->data = memories[memories_given++];
  memory->size = MODULE_MEMORY_BYTES;
}

// The copies are never given back.
void wasm_rt_free_memory(wasm_rt_memory_t *memory) { memory->size = 0; }

// A block inside the module's memory.
static uint8_t *block(Copy *copy, uint32_t at, uint32_t bytes) {
  wasm_rt_memory_t *memory = &copy->instance.w2c_memory;
  if (at % 4u != 0 || at > memory->size || bytes > memory->size - at) wasm_rt_trap(WASM_RT_TRAP_OOB);
  return memory->data + at;
}

static void clear(uint8_t *bytes, uint32_t length) {
  for (uint32_t at = 0; at < length; at++) bytes[at] = 0;
}

void module_start(void) {
  memories_given = 0;
  for (uint32_t i = 0; i < COPIES; i++) {
    Copy *copy = &copies[i];
    w2c_control *instance = &copy->instance;
    clear(memories[i], MODULE_MEMORY_BYTES);
    wasm2c_control_instantiate(instance);
    copy->input = block(copy, w2c_control_input(instance), INPUT_BYTES);
    copy->output = block(copy, w2c_control_output(instance), OUTPUT_BYTES);
    copy->parameters = block(copy, w2c_control_parameters(instance), PARAMETER_COUNT * sizeof(float));
    w2c_control_load_defaults(instance);
  }
  Copy *pins = &copies[MODULE_AT_PINS];
  uint32_t state_bytes = w2c_control_state_bytes(&pins->instance);
  export_table.input = pins->input;
  export_table.output = block(pins, w2c_control_output(&pins->instance), OUTPUT_BYTES);
  export_table.parameters = pins->parameters;
  export_table.state = block(pins, w2c_control_state(&pins->instance), state_bytes);
  export_table.state_bytes = state_bytes;
}

void module_tick(ModuleCopy copy) { w2c_control_tick(&copies[copy].instance); }

void module_power_up(ModuleCopy copy) {
  clear(copies[copy].input, INPUT_BYTES);
  w2c_control_power_up(&copies[copy].instance);
}

void module_load_defaults(ModuleCopy copy) {
  clear(copies[copy].input, INPUT_BYTES);
  w2c_control_load_defaults(&copies[copy].instance);
}

uint32_t module_set_parameter(ModuleCopy copy, int32_t id, float value) {
  return w2c_control_set_parameter(&copies[copy].instance, (uint32_t)id, value);
}

uint8_t *module_input(ModuleCopy copy) { return copies[copy].input; }
const uint8_t *module_output(ModuleCopy copy) { return copies[copy].output; }
float *module_parameters(ModuleCopy copy) { return (float *)(void *)copies[copy].parameters; }

static void pinsTick(void) { module_tick(MODULE_AT_PINS); }
static void pinsPowerUp(void) { module_power_up(MODULE_AT_PINS); }
static void pinsLoadDefaults(void) { module_load_defaults(MODULE_AT_PINS); }
static uint32_t pinsSetParameter(int32_t id, float value) { return module_set_parameter(MODULE_AT_PINS, id, value); }

ExportTable export_table = {
    .magic = EXPORT_MAGIC,
    .memory_bytes = MODULE_MEMORY_BYTES,
    .tick = pinsTick,
    .power_up = pinsPowerUp,
    .load_defaults = pinsLoadDefaults,
    .set_parameter = pinsSetParameter,
    .memory = memories[MODULE_AT_PINS],
};
