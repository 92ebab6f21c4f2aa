// The lamp: lit while armed, blinking at a fault, flashing twice and again in the desk state.
#ifndef STANDOFF_LAMP_H
#define STANDOFF_LAMP_H
#include <stdbool.h>
#include <stdint.h>

bool lamp_lit(uint32_t digital_inputs);

#endif
