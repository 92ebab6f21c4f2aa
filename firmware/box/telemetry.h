// The telemetry stream: the tick queues rows, the idle loop sends them. A row is dropped when the queue is full; the gap
// in the sequence numbers shows it.
#ifndef STANDOFF_TELEMETRY_H
#define STANDOFF_TELEMETRY_H
#include <stdbool.h>
#include <stdint.h>

#include "frame.h"
#include "port.h"

// From the idle loop: one row every `every_ms` ticks; 0: none.
void telemetry_request(uint32_t every_ms);
bool telemetry_runs(void);
// From the tick. The row to push, or NULL when none is due.
wire_telemetry *telemetry_row(const PortInputs *inputs, uint32_t digital_outputs, int32_t z_steps);
void telemetry_push(wire_telemetry *row, uint32_t cycles);
// From the idle loop: moves the oldest row into the frame. False: the queue is empty.
bool telemetry_take(Frame *frame);

#endif
