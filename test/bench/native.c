// The yardstick: control module and world module through wasm2c and the C compiler, on one memory, from a snapshot of it.
//   native SNAPSHOT RUNS
// Each run prints its ticks, the nanoseconds of processor time of one, and a sum of the memory at its end.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "control.h"
#include "world.h"

wasm_rt_memory_t *Z_envZ_memory(struct Z_env_instance_t *memory) { return (wasm_rt_memory_t *)memory; }

static double now_ns(void) {
  struct timespec time;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
  return 1e9 * (double)time.tv_sec + (double)time.tv_nsec;
}

int main(int count, char **words) {
  if (count != 3) return 2;
  FILE *file = fopen(words[1], "rb");
  if (file == NULL) return 1;
  fseek(file, 0, SEEK_END);
  size_t bytes = (size_t)ftell(file);
  rewind(file);
  uint8_t *snapshot = malloc(bytes);
  if (snapshot == NULL || fread(snapshot, 1, bytes, file) != bytes) return 1;

  static Z_control_instance_t control;
  static Z_world_instance_t world;
  wasm_rt_init();
  Z_control_init_module();
  Z_control_instantiate(&control);
  wasm_rt_memory_t *memory = Z_controlZ_memory(&control);
  wasm_rt_grow_memory(memory, (uint32_t)(bytes / 65536) - memory->pages);
  Z_world_init_module();
  Z_world_instantiate(&world, &control, (struct Z_env_instance_t *)memory);
  for (int run = atoi(words[2]); run > 0; run--) {
    memcpy(memory->data, snapshot, bytes);
    uint32_t ticks = 0;
    uint32_t done;
    double start_ns = now_ns();
    do {
      done = Z_worldZ_run(&world, 0, 1000);
      ticks += done;
    } while (done == 1000);
    double tick_ns = (now_ns() - start_ns) / ticks;
    uint32_t sum = 7;
    for (size_t at = 0; at < bytes; at++) sum = 31 * sum + memory->data[at];
    printf("%u %.1f %u\n", ticks, tick_ns, sum);
  }
  return 0;
}
