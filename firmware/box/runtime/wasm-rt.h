// What the C that wasm2c makes of the control module stands on: a memory of fixed size, bounds checks on every access, a
// trap that is a fault of the box and never undefined behaviour. The rest of wasm2c's runtime (growing memories, tables,
// exceptions) the module does not use; what a header has to name is only declared, and a use fails to link.
#ifndef WASM_RT_H_
#define WASM_RT_H_
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define LIKELY(x) __builtin_expect(!!(x), 1)
#define UNLIKELY(x) __builtin_expect(!!(x), 0)
// No guard pages and no segment registers here: each access is compared with the size of the memory.
#define WASM_RT_MEMCHECK_GUARD_PAGES 0
#define WASM_RT_USE_SEGUE 0
#define WASM_RT_STACK_DEPTH_COUNT 0
#define WABT_BIG_ENDIAN 0

typedef enum {
  WASM_RT_TRAP_NONE,
  WASM_RT_TRAP_OOB,
  WASM_RT_TRAP_INT_OVERFLOW,
  WASM_RT_TRAP_DIV_BY_ZERO,
  WASM_RT_TRAP_INVALID_CONVERSION,
  WASM_RT_TRAP_UNREACHABLE,
  WASM_RT_TRAP_CALL_INDIRECT,
  WASM_RT_TRAP_UNCAUGHT_EXCEPTION,
  WASM_RT_TRAP_UNALIGNED,
  WASM_RT_TRAP_EXHAUSTION,
} wasm_rt_trap_t;
_Noreturn void wasm_rt_trap(wasm_rt_trap_t kind);

// The memory that there is: the module's static data. asc refuses to build it with more (lowMemoryLimit); an access
// beyond is a trap. It lies in the instance itself, so no pointer is loaded before each access; and its size is written
// into the generated check as this constant (../module-code.mjs), so the compiler makes the checks of constant addresses.
#define MODULE_MEMORY_BYTES 4608u
typedef struct {
  uint32_t size;
  _Alignas(8) uint8_t data[MODULE_MEMORY_BYTES];
} wasm_rt_memory_t;
void wasm_rt_allocate_memory(wasm_rt_memory_t *memory, uint64_t pages, uint64_t most_pages, bool wide, uint32_t page_bytes);
void wasm_rt_free_memory(wasm_rt_memory_t *memory);
#define wasm_rt_is_initialized() true

// The processor has no unaligned loads: told that words are aligned, the compiler makes one load of each. The module has
// no access below its natural alignment (a test of the binary proves it).
#define wasm_rt_memcpy(to, from, bytes)                                                                        \
  do {                                                                                                         \
    if ((bytes) == 4) {                                                                                        \
      __builtin_memcpy(__builtin_assume_aligned((to), 4), __builtin_assume_aligned((from), 4), 4);             \
    } else if ((bytes) == 2) {                                                                                 \
      __builtin_memcpy(__builtin_assume_aligned((to), 2), __builtin_assume_aligned((from), 2), 2);             \
    } else {                                                                                                   \
      __builtin_memcpy((to), (from), (bytes));                                                                 \
    }                                                                                                          \
  } while (0)

// Named by the generated helpers for tables.
typedef enum { WASM_RT_I32, WASM_RT_I64, WASM_RT_F32, WASM_RT_F64 } wasm_rt_type_t;
typedef const char *wasm_rt_func_type_t;
typedef void (*wasm_rt_function_ptr_t)(void);
typedef struct {
  int unused;
} wasm_rt_tailcallee_t;
typedef struct {
  wasm_rt_func_type_t func_type;
  wasm_rt_function_ptr_t func;
  wasm_rt_tailcallee_t func_tailcallee;
  void *module_instance;
} wasm_rt_funcref_t;
typedef void *wasm_rt_externref_t;
typedef struct {
  wasm_rt_funcref_t *data;
  uint32_t max_size, size;
} wasm_rt_funcref_table_t;
typedef struct {
  wasm_rt_externref_t *data;
  uint32_t max_size, size;
} wasm_rt_externref_table_t;
static const wasm_rt_funcref_t wasm_rt_funcref_null_value;
static void *const wasm_rt_externref_null_value = 0;

#endif
