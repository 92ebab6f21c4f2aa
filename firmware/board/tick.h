// The millisecond: inputs, control module, outputs, and what is written down of it. The port calls it: box_tick in port.h.
#ifndef STANDOFF_TICK_H
#define STANDOFF_TICK_H
#include <stdbool.h>

// While true the module is told that outputs are to rest. From the idle loop.
void tick_rest_outputs(bool rest);

#endif
