// A board on a PC: port.h over plain memory. The program around it feeds the inputs, carries the link and lets time pass:
// it defines the four functions at the end. All in one thread: ticks run while the idle loop sleeps or waits for flash.
#ifndef STANDOFF_HOST_H
#define STANDOFF_HOST_H
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "port.h"

#define HOST_ERASE_ms 45u // of a sector; typical of the 25 series
#define HOST_PROGRAM_ms 1u
#define HOST_SEND_BYTES 1024u
#define HOST_RECEIVE_BYTES 65536u

typedef enum { CUT_BEFORE, CUT_WITHIN, CUT_AFTER } HostCut;

typedef struct {
  PortInputs inputs; // of the next tick; steps are given once
  // Outputs
  uint32_t digital_outputs;
  bool trigger;          // level of the pin
  bool trigger_on;       // requested by the last tick: the pin toggles while it is true
  uint32_t trigger_edges;
  int32_t z_steps; // sum of all
  bool lamp, led;
  bool rests; // until the restart
  bool desk;  // until the restart
  uint32_t trial_outputs; // raised in the desk state
  int32_t trial_steps;    // sum of the Z steps there
  uint32_t ticks, watchdog_feeds;
  // Of this start
  uint32_t boot_cause, boot_slot, boot_detail;
  bool trial;
  uint32_t answers;
  bool stack_broken;
  // Memory that survives a restart, provided by the program before port_start
  uint8_t *flash; // FLASH_BYTES
  void *kept;     // KEPT_RAM_BYTES
  // Flash: operations begun; the power fails at this one (UINT32_MAX: never); a deaf chip ignores commands
  uint32_t flash_operations, cut_at;
  HostCut cut_moment;
  bool deaf;
  uint32_t seed; // of what an interrupted operation leaves behind
  // Link
  uint32_t baud;
  bool usb_open; // a program on a PC has the other way open
  uint8_t received[HOST_RECEIVE_BYTES]; // indices only count up, modulo the size
  uint32_t received_in, received_out;
  uint8_t sent[HOST_SEND_BYTES];
  size_t sent_bytes; // the program takes them away
} HostBoard;
extern HostBoard host;

// One tick, if ticks run. Not while they are held.
void host_tick(void);
// A byte from the host; false: buffer full.
bool host_receive(uint8_t byte);

// Defined by the program.
void host_sleep(void);                            // the idle loop has nothing to do
_Noreturn void host_restart(uint32_t cause);      // port_restart was called
_Noreturn void host_power_cut(void);              // the power failed at host.cut_at
uint32_t host_cycles(void);                       // of a processor at CLOCK_HZ

#endif
