// A box that only answers, to try the port's USB with on the emulated board: a length, then so many bytes that are not 0,
// come back with their bits turned over but the highest. The zero bytes that begin a program are passed over.
#include "port.h"

const uint32_t export_table[1] = {0};

#define USB 1u
#define TURNED 0x7fu

void box_tick(void) {
  PortInputs inputs;
  port_inputs(&inputs);
  port_watchdog();
}

_Noreturn void box_main(void) {
  static uint8_t message[255];
  uint32_t length = 0, came = 0;
  port_run();
  for (;;) {
    int byte = port_link_take(USB);
    if (byte < 0) {
      (void)port_link_room(USB);
      port_sleep();
    } else if (byte == 0) length = came = 0;
    else if (length == 0) length = (uint32_t)byte;
    else {
      message[came++] = (uint8_t)byte ^ TURNED;
      if (came < length) continue;
      while (!port_link_send(USB, message, length)) port_sleep();
      length = came = 0;
    }
  }
}
