// Recorded ticks through the control module: for each recording its number of ticks, its parameters and its input blocks
// come in; after every hundred ticks a hash of outputs and state goes out (FNV-1a by 32-bit words, as in replay.ts).
#include "io.h"
#include "module.h"
#include "port.h"

#define FNV_BASIS 0x811c9dc5u
#define FNV_PRIME 0x01000193u

static uint32_t hash;

uint32_t port_capacity(void) { return Z_STEPS_MOST; }

void box_trap(uint32_t kind) {
  io_print("trap ");
  io_hex(kind);
  io_end(false);
}

static void add(const uint8_t *bytes, uint32_t length) {
  const uint32_t *words = __builtin_assume_aligned(bytes, 4);
  for (uint32_t i = 0; i < length / 4u; i++) hash = (hash ^ words[i]) * FNV_PRIME;
}

static void replay(uint32_t ticks) {
  float values[PARAMETER_COUNT];
  if (!io_read(values, sizeof values)) io_end(false);
  module_load_defaults(MODULE_AT_PINS);
  for (int32_t id = 0; id < (int32_t)PARAMETER_COUNT; id++) {
    if (module_set_parameter(MODULE_AT_PINS, id, values[id]) != SET_DONE) io_end(false);
  }
  hash = FNV_BASIS;
  for (uint32_t tick = 1; tick <= ticks; tick++) {
    if (!io_read(module_blocks[MODULE_AT_PINS].input, INPUT_BYTES)) io_end(false);
    module_tick(MODULE_AT_PINS);
    add(export_table.output, OUTPUT_BYTES);
    add(export_table.state, export_table.state_bytes);
    if (tick % 100u == 0) io_hex(hash);
  }
}

void io_main(void) {
  uint32_t ticks;
  module_start();
  while (io_read(&ticks, sizeof ticks)) replay(ticks);
}
