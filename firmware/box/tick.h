// One millisecond: inputs, control module, outputs, and the records of it. The port calls it: box_tick in port.h.
#ifndef STANDOFF_TICK_H
#define STANDOFF_TICK_H
#include <stdbool.h>

// While true the module holds its outputs at rest. From the idle loop.
void tick_rest_outputs(bool rest);

#endif
