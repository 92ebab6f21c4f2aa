// Parameters: stored in flash, in use by the module, staged by a host. Only from the idle loop.
#ifndef STANDOFF_PARAMETERS_H
#define STANDOFF_PARAMETERS_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

#define NO_PARAMETER 65535u

// Loads the stored values into the module, before ticks run. Where it refuses one (with an event), and where those that are
// stored are not for this image or damaged, all defaults stay and the outputs rest until a commit.
void parameters_start(void);
// Copies the values in use (in the desk state those that a restart brings into use) from id `first` on, at most `most`. Returns how many.
uint32_t parameters_read(uint32_t first, uint32_t most, wire_value *values);

// The parameter that was refused, and the one that it contradicts; NO_PARAMETER: none.
typedef struct {
  uint16_t id, other;
} Refused;

// Each of these returns a STATUS_*, and says which parameter was refused.
// Stages values, all of them or none. A count of 0 discards what was staged.
uint32_t parameters_stage(const wire_value *values, uint32_t count, Refused *refused);
// Would the module accept all staged values together?
uint32_t parameters_check(Refused *refused);
// Puts the staged values into use between two ticks, all at once, and stores them. Waits for the flash; ticks go on.
uint32_t parameters_commit(Refused *refused);
// The trim alone, also while armed; *trim_V becomes the one in force. Not stored: the next commit stores it with the rest.
uint32_t parameters_trim(float *trim_V);
void parameters_forget(void);
uint32_t parameters_staged(void);

#endif
