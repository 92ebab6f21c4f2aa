// port.h on a PC.
#include <assert.h>

#include "host.h"

HostBoard host = {.cut_at = UINT32_MAX};
static bool ticks_run, in_tick;
static uint32_t holds;

void port_start(void) {
  host.baud = BAUD_AT_START;
  ticks_run = false;
  holds = 0;
  in_tick = false;
  host.desk = false;
  host.trial_outputs = 0;
}
void port_run(void) { ticks_run = true; }
void port_sleep(void) { host_sleep(); }

void host_tick(void) {
  assert(holds == 0 && !in_tick);
  if (!ticks_run) return;
  in_tick = true;
  host.ticks++;
  box_tick();
  in_tick = false;
}

void port_inputs(PortInputs *inputs) {
  assert(in_tick);
  *inputs = host.inputs;
  host.inputs.x_steps = 0;
  host.inputs.y_steps = 0;
  host.inputs.digital_inputs &= ~INPUT_OVERRUN;
}

uint32_t port_outputs(uint32_t digital_outputs, int32_t z_steps) {
  assert(in_tick);
  if (host.rests) return 0;
  if (host.desk) digital_outputs = (host.digital_outputs | digital_outputs) & OUTPUT_LATCHED_STOP;
  host.digital_outputs = digital_outputs & ~OUTPUT_TRIGGER;
  if ((digital_outputs & OUTPUT_Z_OWNED) != 0) host.z_steps += z_steps;
  return digital_outputs;
}

void port_trigger(bool on) {
  assert(in_tick);
  host.trigger_on = on && !host.rests && !host.desk;
  bool level = host.trigger_on && !host.trigger;
  if (level != host.trigger) host.trigger_edges++;
  host.trigger = level;
}

void port_lamp(bool on) { host.lamp = on && !host.rests; }
void port_led(bool on) { host.led = on && !host.rests; }
void port_watchdog(void) { host.watchdog_feeds++; }
uint32_t port_cycles(void) { return host_cycles() & 0xffffffu; }
uint32_t port_cycles_per_ms(void) { return CLOCK_HZ / 1000u; }
uint32_t port_capacity(void) { return Z_STEPS_MOST; }
uint32_t port_chip_id(void) { return 0; }

void port_desk(void) {
  assert(!in_tick && holds > 0);
  host.desk = true;
  host.digital_outputs &= OUTPUT_LATCHED_STOP;
  host.trigger = host.trigger_on = false;
}
bool port_at_desk(void) { return host.desk; }

void port_trial(uint32_t outputs, int32_t z_steps) {
  assert(in_tick);
  if (host.rests || !host.desk) return;
  host.trial_outputs = outputs;
  if ((outputs & TRIAL_Z_OWNED) != 0) host.trial_steps += z_steps;
}

void port_trial_failure(uint32_t failure) {
  assert(in_tick);
  if (!host.desk) return;
  if (failure == TRIAL_HANG) port_restart(BOOT_HUNG);
  if (failure == TRIAL_STACK) host.stack_broken = true;
  if (failure == TRIAL_PROTECTED) port_restart(BOOT_HARD_FAULT);
}

void port_rest(void) {
  host.rests = true;
  host.digital_outputs = 0;
  host.trigger = false;
  host.lamp = host.led = false;
}

void port_restart(uint32_t cause) {
  port_rest();
  host_restart(cause);
}

uint32_t port_boot_cause(void) { return host.boot_cause; }
uint32_t port_boot_slot(void) { return host.boot_slot; }
bool port_on_trial(void) { return host.trial; }
void port_answered(void) { host.answers++; }
uint32_t port_boot_detail(void) { return host.boot_detail; }
void *port_kept_memory(void) { return host.kept; }
bool port_stack_intact(void) { return !host.stack_broken; }

void port_hold_ticks(void) {
  assert(!in_tick);
  holds++;
}
void port_release_ticks(void) {
  assert(!in_tick && holds > 0);
  holds--;
}

bool host_receive(uint8_t byte) {
  if (host.received_in - host.received_out == HOST_RECEIVE_BYTES) return false;
  host.received[host.received_in++ % HOST_RECEIVE_BYTES] = byte;
  return true;
}

// The program around it has one line; nothing comes over the other way, and what is sent there is discarded.
#define LINE 0u

int port_link_take(uint32_t way) {
  assert(!in_tick);
  if (way != LINE || host.received_in == host.received_out) return -1;
  return host.received[host.received_out++ % HOST_RECEIVE_BYTES];
}

size_t port_link_room(uint32_t way) { return HOST_SEND_BYTES - (way == LINE ? host.sent_bytes : 0u); }

bool port_link_send(uint32_t way, const uint8_t *bytes, size_t length) {
  assert(!in_tick);
  if (length > port_link_room(way)) return false;
  if (way != LINE) return true;
  __builtin_memcpy(host.sent + host.sent_bytes, bytes, length);
  host.sent_bytes += length;
  return true;
}

bool port_link_speed(uint32_t way, uint32_t baud) {
  if (way == LINE) host.baud = baud;
  return true;
}

bool port_link_open(uint32_t way) { return way != LINE && host.usb_open; }
