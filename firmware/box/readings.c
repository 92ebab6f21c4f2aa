#include "readings.h"

#define SECOND_ms 1000u

typedef struct {
  uint32_t ms;
  uint32_t sum;
  uint64_t square_sum;
  uint16_t least, most;
} Second;

static Second now = {.least = UINT16_MAX}, last;
static uint16_t reference;

void readings_take(const PortInputs *inputs) {
  // Ten squares of 12 digits each: far from 2^32.
  uint32_t sum = 0;
  uint32_t squares = 0;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) {
    uint16_t reading = inputs->readings[i];
    sum += reading;
    squares += (uint32_t)reading * reading;
    if (reading < now.least) now.least = reading;
    if (reading > now.most) now.most = reading;
  }
  now.sum += sum;
  now.square_sum += squares;
  reference = inputs->reference;
  if (++now.ms < SECOND_ms) return;
  last = now;
  now = (Second){.least = UINT16_MAX};
}

wire_readings readings_of_second(void) {
  port_hold_ticks();
  Second second = last;
  uint16_t reference_now = reference;
  port_release_ticks();
  uint64_t count = second.ms * READINGS_PER_TICK;
  uint64_t least = second.least;
  // Σ(x − least)² = Σx² − 2·least·Σx + n·least², exact in whole numbers.
  uint64_t about_least = second.square_sum - 2u * least * second.sum + count * least * least;
  return (wire_readings){
      .count = (uint32_t)count,
      .sum = second.sum,
      .square_sum_low = (uint32_t)about_least,
      .square_sum_high = (uint32_t)(about_least >> 32),
      .least = second.least,
      .most = second.most,
      .reference = reference_now,
  };
}
