// Random bytes into the box on the desk, a hundred a tick. Nothing may change but the count of lines that were no frame.
// Argument: how many ticks.
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "host.h"
#include "module.h"
#include "store.h"

#define BYTES_EACH_TICK 100u

static uint8_t chip[FLASH_BYTES], before[FLASH_BYTES];
static _Alignas(8) uint8_t kept[KEPT_RAM_BYTES];
static float parameters[PARAMETER_COUNT];
static uint64_t random_state = 88172645463325252u;
static uint32_t tick, ticks;

void host_restart(uint32_t cause) {
  printf("restart %u in tick %u\n", cause, tick);
  exit(1);
}
void host_power_cut(void) { exit(1); }
uint32_t host_cycles(void) { return 0; }

static uint64_t random64(void) {
  random_state ^= random_state << 13;
  random_state ^= random_state >> 7;
  return random_state ^= random_state << 17;
}

void host_sleep(void) {
  if (tick == 0) memcpy(parameters, module_blocks[MODULE_AT_PINS].parameters, sizeof parameters);
  if (tick++ == ticks) {
    bool same = memcmp(chip, before, sizeof chip) == 0 && host.flash_operations == 0 && host.sent_bytes == 0 &&
                host.baud == BAUD_AT_START && host.trigger_edges == 0 && host.digital_outputs == 0 &&
                memcmp(parameters, module_blocks[MODULE_AT_PINS].parameters, sizeof parameters) == 0;
    printf("%u bytes, %s\n", ticks * BYTES_EACH_TICK, same ? "nothing changed" : "something changed");
    exit(same ? 0 : 1);
  }
  for (uint32_t i = 0; i < BYTES_EACH_TICK; i++) {
    uint64_t random = random64();
    // Every other byte in a while a line's end, so that lines of all lengths come.
    host_receive(random % 64u == 0 ? 0 : (uint8_t)(random >> 32));
  }
  host_tick();
}

int main(int count, char **arguments) {
  if (count != 2) return 2;
  ticks = (uint32_t)strtoul(arguments[1], NULL, 10);
  memset(chip, 0xff, sizeof chip);
  memcpy(before, chip, sizeof chip);
  host.flash = chip;
  host.kept = kept;
  host.inputs.reference = 2048;
  host.inputs.digital_inputs = INPUT_STOP_CHAIN | INPUT_BREAKAWAY | INPUT_TOP;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) host.inputs.readings[i] = 124;
  port_start();
  box_main();
}
