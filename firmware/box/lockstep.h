// Compares the module in this box with the one on the host: the host sends inputs and gets outputs. It runs the second
// copy; the copy at the pins keeps running with its outputs at rest. Only from the idle loop.
#ifndef STANDOFF_LOCKSTEP_H
#define STANDOFF_LOCKSTEP_H
#include <stdbool.h>
#include <stdint.h>

#include "frame.h"

bool lockstep_runs(void);
// STATUS_*. The second copy starts from power-up with the parameters in use. Beginning again is allowed.
uint32_t lockstep_begin(void);
// Powers the module at the pins up again, unless there is a fault or a condition that may become one.
void lockstep_end(void);
// Ends it when the key is turned on, at a fault of the module at the pins (but not in the desk state), or after two seconds without a request.
void lockstep_work(void);
// Replaces the frame's payload by the answer. Ticks already run are not run again: their outputs are kept.
uint32_t lockstep_ticks(Frame *frame);
uint32_t lockstep_parameter(Frame *frame);

#endif
