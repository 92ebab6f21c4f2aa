// Outputs raised by a host, to try the pins of a box that is not wired; and failures made on purpose. In the desk state alone.
// The trigger is not among the outputs: nothing but the module with the key on ever moves it.
#ifndef STANDOFF_TRIAL_H
#define STANDOFF_TRIAL_H
#include <stdint.h>

#include "frame.h"
#include "port.h"

// STATUS_*. Raises outputs, and steps Z to a goal; all rest again half a second after the last request. Replaces the frame's
// payload by what has been stepped and counted. From the idle loop.
uint32_t trial_outputs(Frame *frame);
// STATUS_*. The box fails in a moment, when its answer has left. From the idle loop.
uint32_t trial_failure(Frame *frame);
// After the outputs of the tick.
void trial_tick(const PortInputs *inputs);

#endif
