#include "lamp.h"

#include "module.h"
#include "status.h"

#define BLINK_ms 256u
// In the desk state two short flashes, as often as a fault blinks once.
#define FLASH_ms 64u

bool lamp_lit(uint32_t digital_inputs) {
  if (port_at_desk()) return (tick_number() & (FLASH_ms | BLINK_ms)) == 0;
  uint32_t mode = module_word(MODULE_AT_PINS, OUTPUT_MODE);
  if (mode == MODE_FAULT) return (tick_number() & BLINK_ms) != 0;
  if (mode != MODE_REST) return true;
  // At rest the module says why it would not start; whatever comes behind key and stop chain is said of an armed box.
  uint32_t refusal = module_word(MODULE_AT_PINS, OUTPUT_REFUSAL);
  return (digital_inputs & INPUT_KEY) != 0 && refusal != REFUSAL_KEY && refusal != REFUSAL_STOP_CHAIN;
}
