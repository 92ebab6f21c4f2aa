// Parameters: kept in flash, in use in the module, put aside by a host. Only from the idle loop.
#ifndef STANDOFF_PARAMETERS_H
#define STANDOFF_PARAMETERS_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

#define NO_PARAMETER 65535u

// Takes what is kept into use, before ticks run. A value that the module refuses is left at its default, with an event.
void parameters_start(void);
// Values in use from an id on, at most so many; returns how many there are.
uint32_t parameters_read(uint32_t first, uint32_t most, wire_value *values);

// The parameter that was refused, and the one that it contradicts; NO_PARAMETER: none.
typedef struct {
  uint16_t id, other;
} Refused;

// Each of these returns a STATUS_*, and says which parameter was refused.
// Puts values aside, all of them or none. None at all: what was put aside before is forgotten.
uint32_t parameters_stage(const wire_value *values, uint32_t count, Refused *refused);
// Would the module take all that was put aside, together?
uint32_t parameters_check(Refused *refused);
// Takes them into use between two ticks, all at once, and keeps them. Waits for the flash chip; ticks go on.
uint32_t parameters_commit(Refused *refused);
void parameters_forget(void);
uint32_t parameters_staged(void);

#endif
