// What the board watches by itself, beside the control module: its converter and its firing contact.
#ifndef STANDOFF_WATCH_H
#define STANDOFF_WATCH_H
#include <stdbool.h>
#include <stdint.h>

#include "port.h"

// Half of the board's own reference is half of the converter's range. Two resistors of 1 % and the converter's own error
// (a few counts) stay far inside; a converter that is dead, stuck or looks at the other channel does not.
#define REFERENCE_COUNTS 2048u
#define REFERENCE_WITHIN_COUNTS 82u
// So many ticks in a row with a wrong reference, and no reading is believed until as many are right again.
#define REFERENCE_ms 5u
// What the module then gets: the top of the range, which it takes for voltage at rest and for a fault in a cut.
#define READING_MOST 4095u
// The firing contact must have opened this long after the trigger went off.
#define RELAY_RELEASE_ms 200u

// Replaces the readings when the converter's reference is off.
void watch_converter(PortInputs *inputs);
// Returns the digital_outputs as they may be: with the firing contact closed against the trigger, the permit and the trigger are
// taken and the latched stop opens, until the contact is open and the key off.
uint32_t watch_relay(const PortInputs *inputs, uint32_t digital_outputs);
// The board's own stop stands.
bool watch_stopped(void);

#endif
