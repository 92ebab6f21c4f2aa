#include "watch.h"

#include "events.h"

static uint32_t strange_ms; // rises while the reference is off, falls while it is right
static bool converter_dead;
static uint32_t welded_ms;
static bool stopped;

bool watch_stopped(void) { return stopped; }

void watch_converter(PortInputs *inputs) {
  uint32_t off = inputs->reference > REFERENCE_COUNTS ? inputs->reference - REFERENCE_COUNTS
                                                      : REFERENCE_COUNTS - inputs->reference;
  if (off > REFERENCE_WITHIN_COUNTS) strange_ms = strange_ms < REFERENCE_ms ? strange_ms + 1u : REFERENCE_ms;
  else if (strange_ms > 0) strange_ms--;
  if (strange_ms == REFERENCE_ms && !converter_dead) {
    converter_dead = true;
    events_add(EVENT_CONVERTER, inputs->reference, 0);
  }
  if (strange_ms == 0) converter_dead = false;
  if (!converter_dead) return;
  for (uint32_t i = 0; i < READINGS_PER_TICK; i++) inputs->readings[i] = READING_MOST;
}

uint32_t watch_relay(const PortInputs *inputs, uint32_t digital_outputs) {
  bool against = inputs->relay && (stopped || (digital_outputs & OUTPUT_TRIGGER) == 0);
  welded_ms = !against ? 0 : welded_ms < RELAY_RELEASE_ms ? welded_ms + 1u : RELAY_RELEASE_ms;
  if (welded_ms == RELAY_RELEASE_ms && !stopped) {
    stopped = true;
    events_add(EVENT_RELAY, 0, 0);
  }
  if (stopped && !inputs->relay && (inputs->digital_inputs & INPUT_KEY) == 0) stopped = false;
  if (!stopped) return digital_outputs;
  return (digital_outputs & ~(OUTPUT_TRIGGER | OUTPUT_PERMIT)) | OUTPUT_LATCHED_STOP;
}
