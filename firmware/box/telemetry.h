// The stream: a row of a tick, queued by the tick, sent by the idle loop. A row that finds no room is dropped, and the
// gap in the numbers shows it.
#ifndef STANDOFF_TELEMETRY_H
#define STANDOFF_TELEMETRY_H
#include <stdbool.h>
#include <stdint.h>

#include "frame.h"
#include "port.h"

// From the idle loop: a row every so many ticks; 0: none.
void telemetry_request(uint32_t every_ms);
// From the tick. The row to push, or NULL when none is wanted now.
wire_telemetry *telemetry_row(const PortInputs *inputs, uint32_t digital_outputs, int32_t z_steps);
void telemetry_push(wire_telemetry *row, uint32_t cycles);
// From the idle loop: puts the oldest row into the frame. False: there is none.
bool telemetry_take(Frame *frame);

#endif
