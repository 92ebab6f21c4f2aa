// Z steps, spread evenly over a millisecond.
#ifndef STANDOFF_STEPS_H
#define STANDOFF_STEPS_H
#include <stdbool.h>
#include <stdint.h>

void steps_start(void);
// Plan for the coming millisecond: steps (signed, up is positive) and whether the box owns Z. From the tick.
void steps_plan(int32_t steps, bool owned, uint32_t tick_us);
// Stops all edges; pins low.
void steps_stop(void);
// After steps_stop: plans are carried out again, from the next one on.
void steps_again(void);
void steps_interrupt(void);

#endif
