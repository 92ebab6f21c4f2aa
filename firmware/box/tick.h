// One millisecond: inputs, control module, outputs, and the records of it. The port calls it: box_tick in port.h.
#ifndef STANDOFF_TICK_H
#define STANDOFF_TICK_H
#include <stdbool.h>

// Why the outputs are to rest.
typedef enum { REST_FOR_LOCKSTEP, REST_FOR_PARAMETERS, REST_CAUSES } RestCause;
// While true for any cause, the module holds its outputs at rest. From the idle loop, also before ticks run.
void tick_rest_outputs(RestCause cause, bool rest);

#endif
