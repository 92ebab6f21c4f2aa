// The module in this box against the one on the desk: a host gives inputs and gets outputs. It drives the copy aside; the
// one at the pins goes on with the pins and is told that its outputs are to rest. Only from the idle loop.
#ifndef STANDOFF_LOCKSTEP_H
#define STANDOFF_LOCKSTEP_H
#include <stdbool.h>
#include <stdint.h>

#include "frame.h"

bool lockstep_runs(void);
// STATUS_*. The module aside begins at power-up with the parameters in use. Beginning again is allowed.
uint32_t lockstep_begin(void);
// The module at the pins goes on from power-up, unless there is a fault or what may become one.
void lockstep_end(void);
// Ends it when the key goes on, at a fault of the module at the pins, or when nothing was asked of it for two seconds.
void lockstep_work(void);
// The frame's payload becomes the answer. Ticks that were done already are not done again: their outputs are kept.
uint32_t lockstep_ticks(Frame *frame);
uint32_t lockstep_parameter(Frame *frame);

#endif
