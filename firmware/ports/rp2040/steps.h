// Z steps, spread evenly over a millisecond.
#ifndef STANDOFF_STEPS_H
#define STANDOFF_STEPS_H
#include <stdbool.h>
#include <stdint.h>

void steps_start(void);
// What the coming millisecond brings: steps (signed, up is positive) and whether the box owns Z in it. From the tick.
void steps_plan(int32_t steps, bool owned, uint32_t tick_us);
// No further edge; pins low.
void steps_stop(void);
void steps_interrupt(void);

#endif
