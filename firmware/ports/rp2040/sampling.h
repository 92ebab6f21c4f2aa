// Sampling ten times a millisecond, and the timing of the tick.
#ifndef STANDOFF_SAMPLING_H
#define STANDOFF_SAMPLING_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

void sampling_start(void);
// Starts sampling and ticks.
void sampling_run(void);
void sampling_take(PortInputs *inputs);
// Nominal time of the tick that runs, microseconds.
uint32_t sampling_tick_us(void);
void sampling_hold_ticks(bool hold);
void sampling_interrupt(void);
void tick_interrupt(void);

#endif
