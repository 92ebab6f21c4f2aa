#ifndef STANDOFF_PINS_H
#define STANDOFF_PINS_H
#include "board.gen.h"
#include "registers.h"

#define OUTPUT_PINS                                                                                       \
  (BIT(PIN_TRIGGER) | BIT(PIN_Z_STEP) | BIT(PIN_Z_DIRECTION) | BIT(PIN_Z_OWNED) | BIT(PIN_MOTION_PERMIT) | \
   BIT(PIN_LATCHED_STOP) | BIT(PIN_LAMP) | BIT(PIN_LED))

// Outputs driven low, at rest (as their external resistors hold them through a reset); inputs with their pulls.
void pins_start(void);
// Link pins and the key only, for the loader; outputs stay undriven.
void pins_start_loader(void);

// True when the key is on and the stop chain intact: current flows in both inputs. `levels` as read from SIO_IN.
static inline bool permitted(uint32_t levels) { return (levels & (BIT(PIN_KEY) | BIT(PIN_STOP_CHAIN))) == 0; }
_Static_assert(PIN_KEY_HIGH == 0 && PIN_STOP_CHAIN_HIGH == 0, "both are true at the low level");

static inline void pinsHigh(uint32_t pins) { REGISTER(SIO_OUT_SET) = pins; }
static inline void pinsLow(uint32_t pins) { REGISTER(SIO_OUT_CLEAR) = pins; }

#endif
