#include <stdbool.h>

#include "pins.h"

#define PAD_INPUT_PULLED_UP (PAD_OUTPUT_OFF | PAD_INPUT | PAD_PULL_UP | PAD_SCHMITT)
#define PAD_INPUT_PULLED_DOWN (PAD_OUTPUT_OFF | PAD_INPUT | PAD_PULL_DOWN | PAD_SCHMITT)
#define PAD_OUTPUT_PULLED_DOWN (PAD_INPUT | PAD_4_MA | PAD_PULL_DOWN | PAD_SCHMITT)
// A converter's pin: no digital input, no resistor (data sheet 4.9.1).
#define PAD_ANALOGUE PAD_OUTPUT_OFF

static void pin(uint32_t number, uint32_t pad, uint32_t function) {
  REGISTER(PAD(number)) = pad;
  REGISTER(PIN_CTRL(number)) = function;
}

void pins_start_loader(void) {
  resetBlocks(RESET_IO_BANK0 | RESET_PADS_BANK0);
  pin(PIN_LINK_TX, PAD_4_MA | PAD_INPUT, FUNCTION_UART);
  pin(PIN_LINK_RX, PAD_INPUT_PULLED_UP, FUNCTION_UART);
  pin(PIN_KEY, PAD_INPUT_PULLED_UP, FUNCTION_SIO);
}

void pins_start(void) {
  pins_start_loader();
  pinsLow(OUTPUT_PINS);
  REGISTER(SIO_OE_SET) = OUTPUT_PINS;
  for (uint32_t n = 0; n < 30; n++) {
    if ((OUTPUT_PINS & BIT(n)) != 0) pin(n, PAD_OUTPUT_PULLED_DOWN, FUNCTION_SIO);
  }
#define INPUT(number, high, pull_up, bit) \
  pin(number, (pull_up) ? PAD_INPUT_PULLED_UP : PAD_INPUT_PULLED_DOWN, FUNCTION_SIO);
  INPUT_PINS(INPUT)
#undef INPUT
  pin(PIN_RELAY, PAD_INPUT_PULLED_UP, FUNCTION_SIO);
  pin(PIN_X_STEP, PAD_INPUT_PULLED_DOWN, FUNCTION_PWM);
  pin(PIN_Y_STEP, PAD_INPUT_PULLED_DOWN, FUNCTION_PWM);
  pin(PIN_X_DIRECTION, PAD_INPUT_PULLED_DOWN, FUNCTION_SIO);
  pin(PIN_Y_DIRECTION, PAD_INPUT_PULLED_DOWN, FUNCTION_SIO);
  pin(PIN_ARC_VOLTAGE, PAD_ANALOGUE, FUNCTION_NONE);
  pin(PIN_REFERENCE, PAD_ANALOGUE, FUNCTION_NONE);
}
