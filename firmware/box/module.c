#include "module.h"

#include "control.h"
#include "port.h"

#define COPIES 2u

static w2c_control instances[COPIES];
ModuleBlocks module_blocks[COPIES];

static void clear(uint8_t *bytes, uint32_t length) {
  for (uint32_t at = 0; at < length; at++) bytes[at] = 0;
}

void wasm_rt_trap(wasm_rt_trap_t kind) { box_trap((uint32_t)kind); }

// The module declares a page of 64 KiB and uses only its beginning: it gets that much; an access beyond it traps.
void wasm_rt_allocate_memory(wasm_rt_memory_t *memory, uint64_t pages, uint64_t most_pages, bool wide, uint32_t page_bytes) {
  (void)most_pages;
  (void)wide;
  if (pages != 1 || page_bytes < MODULE_MEMORY_BYTES) wasm_rt_trap(WASM_RT_TRAP_OOB);
  clear(memory->data, MODULE_MEMORY_BYTES);
  memory->size = MODULE_MEMORY_BYTES;
}

// The copies are never freed.
void wasm_rt_free_memory(wasm_rt_memory_t *memory) { memory->size = 0; }

// A block inside the module's memory.
static uint8_t *block(w2c_control *instance, uint32_t at, uint32_t bytes) {
  wasm_rt_memory_t *memory = &instance->w2c_memory;
  if (at % 4u != 0 || at > memory->size || bytes > memory->size - at) wasm_rt_trap(WASM_RT_TRAP_OOB);
  return memory->data + at;
}

void module_start(void) {
  for (uint32_t i = 0; i < COPIES; i++) {
    w2c_control *instance = &instances[i];
    wasm2c_control_instantiate(instance);
    module_blocks[i] = (ModuleBlocks){
        .input = block(instance, w2c_control_input(instance), INPUT_BYTES),
        .output = block(instance, w2c_control_output(instance), OUTPUT_BYTES),
        .parameters = (float *)(void *)block(instance, w2c_control_parameters(instance), PARAMETER_COUNT * sizeof(float)),
    };
    module_load_defaults((ModuleCopy)i);
  }
  w2c_control *pins = &instances[MODULE_AT_PINS];
  uint32_t state_bytes = w2c_control_state_bytes(pins);
  export_table.input = block(pins, w2c_control_input(pins), INPUT_BYTES);
  export_table.output = block(pins, w2c_control_output(pins), OUTPUT_BYTES);
  export_table.parameters = block(pins, w2c_control_parameters(pins), PARAMETER_COUNT * sizeof(float));
  export_table.state = block(pins, w2c_control_state(pins), state_bytes);
  export_table.state_bytes = state_bytes;
}

// Clears the inputs, but for the board's own capacity.
static void noInput(ModuleCopy copy) {
  uint32_t *words = __builtin_assume_aligned(module_blocks[copy].input, 4);
  clear(module_blocks[copy].input, INPUT_BYTES);
  words[INPUT_CAPACITY / 4u] = port_capacity();
}

void module_tick(ModuleCopy copy) { w2c_control_tick(&instances[copy]); }

void module_power_up(ModuleCopy copy) {
  noInput(copy);
  w2c_control_power_up(&instances[copy]);
}

void module_restart(ModuleCopy copy, uint32_t fault) {
  noInput(copy);
  w2c_control_restart(&instances[copy], fault);
}

void module_load_defaults(ModuleCopy copy) {
  noInput(copy);
  w2c_control_load_defaults(&instances[copy]);
}

uint32_t module_set_parameter(ModuleCopy copy, int32_t id, float value) {
  return w2c_control_set_parameter(&instances[copy], (uint32_t)id, value);
}

uint32_t module_contradiction(ModuleCopy copy) { return w2c_control_contradiction(&instances[copy]); }

float module_trim_in_force(ModuleCopy copy) { return w2c_control_trim_in_force(&instances[copy]); }

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
    .memory = instances[MODULE_AT_PINS].w2c_memory.data,
    .trap = box_trap,
};
