// Commands of the program box-host, a line each:
//   digital_inputs N  INPUT_* from now on         readings N     all ten of a tick      reference N
//   relay 0|1      readback                      steps X Y      with the next tick
//   run N          so many ticks (not with --tcp, where they come by the clock); then a line of JSON on stdout
//   link HEX       bytes from the host           stack          its end is overwritten
//   restart N      as if by the watchdog or the power, with that cause
#ifndef STANDOFF_COMMANDS_H
#define STANDOFF_COMMANDS_H
#include <stdbool.h>
#include <stdint.h>

// Does what a line says. Returns the ticks that it asks for.
uint32_t commands_line(const char *line);
// Prints the outputs, and what was sent over the link since the last report.
void commands_report(bool with_link);

#endif
