// Mean and spread of the raw readings of the last whole second.
#ifndef STANDOFF_READINGS_H
#define STANDOFF_READINGS_H
#include "port.h"

// From the tick, with the raw readings.
void readings_take(const PortInputs *inputs);
// From the idle loop. All 0 in the first second.
wire_readings readings_of_second(void);

#endif
