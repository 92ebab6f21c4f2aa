// The control module: its wasm, as C. Two copies of its memory: one controls the pins; in the other staged parameters are
// tried, and a host runs it in lockstep. Nothing done to the second copy affects the first.
#ifndef STANDOFF_MODULE_H
#define STANDOFF_MODULE_H
#include <stdint.h>

#include "wire.gen.h"

#define EXPORT_MAGIC 0x584e4453u // the bytes SDNX

// Bytes of memory are MODULE_MEMORY_BYTES (runtime/wasm-rt.h).
typedef enum { MODULE_AT_PINS, MODULE_IN_LOCKSTEP } ModuleCopy;

// What a test on the host may read and call in an image; the head gives its address. All are addresses in this image.
typedef struct {
  uint32_t magic; // EXPORT_MAGIC
  uint32_t memory_bytes;
  uint32_t state_bytes;
  void (*tick)(void);
  void (*power_up)(void);
  void (*load_defaults)(void);
  uint32_t (*set_parameter)(int32_t id, float value);
  uint8_t *memory;
  // Filled when the box starts.
  uint8_t *input;
  uint8_t *output;
  uint8_t *parameters;
  uint8_t *state;
  void (*trap)(uint32_t kind); // what a trap of the module calls; does not return
} ExportTable;
extern ExportTable export_table;

// Both copies with their defaults.
void module_start(void);
void module_tick(ModuleCopy copy);
// Clears all state but the parameters, and all inputs but the board's own capacity.
void module_power_up(ModuleCopy copy);
// As power-up, but a fault that sets the latched stop stands again: FAULT_*, of before a restart.
void module_restart(ModuleCopy copy, uint32_t fault);
void module_load_defaults(ModuleCopy copy);
// SET_*
uint32_t module_set_parameter(ModuleCopy copy, int32_t id, float value);
// Ids of two parameters that contradict each other, the first in the upper half; 0: none.
uint32_t module_contradiction(ModuleCopy copy);
// V: trim_V, bounded by the least standoff.
float module_trim_in_force(ModuleCopy copy);
// Blocks of the copy: INPUT_*, OUTPUT_*, PARAMETER_COUNT values by id. Aligned to 4.
typedef struct {
  uint8_t *input;
  const uint8_t *output;
  float *parameters;
} ModuleBlocks;
extern ModuleBlocks module_blocks[2]; // by ModuleCopy; written by module_start alone

static inline uint32_t module_word(ModuleCopy copy, uint32_t at) {
  uint32_t word;
  __builtin_memcpy(&word, __builtin_assume_aligned(module_blocks[copy].output + at, 4), sizeof word);
  return word;
}
static inline float module_real(ModuleCopy copy, uint32_t at) {
  float real;
  __builtin_memcpy(&real, __builtin_assume_aligned(module_blocks[copy].output + at, 4), sizeof real);
  return real;
}

// Of the input block.
static inline uint32_t module_input(ModuleCopy copy, uint32_t at) {
  uint32_t word;
  __builtin_memcpy(&word, __builtin_assume_aligned(module_blocks[copy].input + at, 4), sizeof word);
  return word;
}
static inline uint32_t module_input_half(ModuleCopy copy, uint32_t at) {
  uint16_t half;
  __builtin_memcpy(&half, __builtin_assume_aligned(module_blocks[copy].input + at, 2), sizeof half);
  return half;
}

// Conversions to the field types of telemetry and history.
static inline uint8_t as_u8(uint32_t word) { return (uint8_t)word; }
static inline uint16_t as_u16(uint32_t word) { return (uint16_t)word; }
static inline int32_t as_i32(uint32_t word) { return (int32_t)word; }
static inline float as_f32(float real) { return real; }
static inline int16_t as_i16(uint32_t word) {
  int32_t value = (int32_t)word;
  return (int16_t)(value > INT16_MAX ? INT16_MAX : value < INT16_MIN ? INT16_MIN : value);
}

// Called by a trap, with its kind (WASM_RT_TRAP_*).
_Noreturn void box_trap(uint32_t kind);

#endif
