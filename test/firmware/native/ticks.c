// Input blocks of the module on stdin, one a tick, as a board would sample them; on stdout what the box put out in each
// tick: OUTPUT_* at the port, Z steps, and the module's output block.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "host.h"
#include "module.h"

static uint8_t chip[FLASH_BYTES];
static _Alignas(8) uint8_t kept[KEPT_RAM_BYTES];

void host_restart(uint32_t cause) {
  fprintf(stderr, "restart %u in tick %u\n", cause, host.ticks);
  exit(1);
}
void host_power_cut(void) { exit(1); }
uint32_t host_cycles(void) { return 0; }

static void take(const uint8_t *block) {
  PortInputs *inputs = &host.inputs;
  uint32_t digital_inputs, reference;
  memcpy(inputs->readings, block + INPUT_READINGS, sizeof inputs->readings);
  memcpy(&digital_inputs, block + INPUT_DIGITAL, 4);
  memcpy(&inputs->x_steps, block + INPUT_X_STEPS, 4);
  memcpy(&inputs->y_steps, block + INPUT_Y_STEPS, 4);
  memcpy(&reference, block + INPUT_REFERENCE, 4);
  inputs->digital_inputs = digital_inputs & ~INPUT_RELAY;
  inputs->relay = (digital_inputs & INPUT_RELAY) != 0;
  inputs->reference = (uint16_t)reference;
}

void host_sleep(void) {
  uint8_t block[INPUT_BYTES];
  if (fread(block, sizeof block, 1, stdin) != 1) exit(0);
  take(block);
  int32_t before = host.z_steps;
  host_tick();
  uint32_t digital_outputs = host.digital_outputs | (host.trigger_on ? OUTPUT_TRIGGER : 0u);
  int32_t z_steps = host.z_steps - before;
  fwrite(&digital_outputs, 4, 1, stdout);
  fwrite(&z_steps, 4, 1, stdout);
  fwrite(module_blocks[MODULE_AT_PINS].output, OUTPUT_BYTES, 1, stdout);
}

int main(void) {
  memset(chip, 0xff, sizeof chip);
  host.flash = chip;
  host.kept = kept;
  port_start();
  box_main();
}
